"""Reading an archive: which quotes it holds, what its files hold, and whether they are whole.

This needs no database and blocks nobody. A quote may be archived several times; its latest version
is the one returned.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

import orjson

from service.persistence.retention.files import (
    is_part,
    need_folder,
    opened_files,
    plain_refusals,
    shop_of,
)
from service.persistence.retention.lines import EVENT, PAPER, QUOTE, paper_of, quote_of
from service.persistence.retention.members import file_parts
from service.persistence.retention.records import WholeQuote


@dataclass(frozen=True, slots=True)
class FileContents:
    """The contents of one file.

    `damaged` counts the parts that cannot be read. `ended` is True if its run ended; in the file of
    an interrupted or running run, a torn end is not damage: it was not erased.
    """

    name: str
    shop: str
    quotes: int
    events: int
    first: datetime | None
    last: datetime | None
    damaged: int
    ended: bool


@dataclass(frozen=True, slots=True)
class Search:
    """The latest version of a quote in each shop that has it; the number of unreadable parts."""

    found: dict[str, WholeQuote]
    damaged: int


def contents(folder: Path, shop: str | None = None) -> list[FileContents]:
    """Return the contents of each file, after checking all counts and digests.

    Raises:
        ArchiveUnavailable: there is no such folder, or it cannot be read.
    """
    need_folder(folder)
    with plain_refusals(folder, "read"):
        return [_contents(*found) for found in opened_files(folder, shop)]


def search(folder: Path, *, quote_id: str = "", serial: int = 0, shop: str | None = None) -> Search:
    """Look a quote up by its id or serial.

    Raises:
        ArchiveUnavailable: there is no such folder, or it cannot be read.
    """
    need_folder(folder)
    wanted = b'"id":' + orjson.dumps(quote_id) if quote_id else b'"serial":%d,' % serial
    latest: dict[str, WholeQuote] = {}
    damaged = 0
    with plain_refusals(folder, "read"):
        for path, file in opened_files(folder, shop):
            whole = True
            for part in file_parts(file, _Wanted(wanted, quote_id, serial)):
                whole = part.whole
                damaged += not whole
                for quote in part.taken:
                    known = latest.setdefault(part.head["shop"], quote)
                    if known.head.version < quote.head.version:
                        latest[part.head["shop"]] = quote
            damaged -= is_part(path) and not whole  # a torn end was not erased
    return Search(latest, damaged)


class _Wanted:
    """Collects the wanted quotes from the lines of a file, batch by batch."""

    def __init__(self, words: bytes, quote_id: str, serial: int) -> None:
        self._words = words
        self._id = quote_id
        self._serial = serial
        self._papers: dict[str, bytes] = {}

    def __call__(self, line: bytes) -> WholeQuote | None:
        if line.startswith(PAPER):
            digest, document = paper_of(line)
            self._papers[digest] = document
        elif line.startswith(QUOTE):
            if self._words in line:
                quote = quote_of(line, self._papers)
                if self._id == quote.head.id or self._serial == quote.head.serial:
                    return quote
        elif not line.startswith(EVENT):
            self._papers = {}  # a head line: a new batch, with its own papers
        return None


def _dates(line: bytes) -> tuple[bytes, str, str] | None:
    """Return a record's kind and the instants between which it lies."""
    if line.startswith(QUOTE):
        quote = orjson.loads(line)["quote"]
        return QUOTE, quote["created_at"], quote["updated_at"]
    if line.startswith(EVENT):
        at = orjson.loads(line)["event"]["at"]
        return EVENT, at, at
    return None


def _contents(path: Path, file: BinaryIO) -> FileContents:
    kinds = {QUOTE: 0, EVENT: 0}
    instants: list[datetime] = []
    batches = damaged = 0
    whole, ended = True, False
    for part in file_parts(file, _dates):
        whole, ended = part.whole, part.whole and part.head.get("batches") == batches
        batches += whole
        damaged += not whole
        for kind, first, last in part.taken:
            kinds[kind] += 1
            instants += (datetime.fromisoformat(first), datetime.fromisoformat(last))
            instants = [min(instants), max(instants)]
    if is_part(path):
        damaged -= not whole  # a torn end was not erased
    elif not ended and not damaged:
        damaged = 1  # the end is missing
    return FileContents(
        name=path.name,
        shop=shop_of(path),
        quotes=kinds[QUOTE],
        events=kinds[EVENT],
        first=instants[0] if instants else None,
        last=instants[-1] if instants else None,
        damaged=damaged,
        ended=not is_part(path),
    )
