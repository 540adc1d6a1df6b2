"""Reading an archive: which quote it holds, what its files hold, and whether they are whole.

It needs no database and holds up nobody. A quote may stand there several times; its latest version
is the one that is told.
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
from service.persistence.retention.members import stretches
from service.persistence.retention.records import WholeQuote


@dataclass(frozen=True, slots=True)
class FileContents:
    """What one file holds.

    `damaged` counts parts that cannot be read. `ended` is whether its run ended; of one that was
    broken off, or still writes, what is torn at the end is no damage: it was not erased.
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
    """The latest version of a quote in each shop that has it, and how much could not be read."""

    found: dict[str, WholeQuote]
    damaged: int


def contents(folder: Path, shop: str | None = None) -> list[FileContents]:
    """What each file holds; all of it is read and held to its counts and digests.

    Raises:
        ArchiveUnavailable: there is no such folder, or it cannot be read.
    """
    need_folder(folder)
    with plain_refusals(folder, "read"):
        return [_contents(*found) for found in opened_files(folder, shop)]


def search(folder: Path, *, quote_id: str = "", serial: int = 0, shop: str | None = None) -> Search:
    """Look a quote up by its id, or by its serial.

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
            for part in stretches(file, _Wanted(wanted, quote_id, serial)):
                whole = part.whole
                damaged += not whole
                for quote in part.taken:
                    known = latest.setdefault(part.head["shop"], quote)
                    if known.head.version < quote.head.version:
                        latest[part.head["shop"]] = quote
            damaged -= is_part(path) and not whole  # torn, and not erased then
    return Search(latest, damaged)


class _Wanted:
    """Takes the quotes that are looked for from the lines of a file, batch by batch."""

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
            self._papers = {}  # a head line: another batch begins, with papers of its own
        return None


def _dates(line: bytes) -> tuple[bytes, str, str] | None:
    """Of a record what it is, and between which instants it lies."""
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
    for part in stretches(file, _dates):
        whole, ended = part.whole, part.whole and part.head.get("batches") == batches
        batches += whole
        damaged += not whole
        for kind, first, last in part.taken:
            kinds[kind] += 1
            instants += (datetime.fromisoformat(first), datetime.fromisoformat(last))
            instants = [min(instants), max(instants)]
    if is_part(path):
        damaged -= not whole  # torn, and not erased then
    elif not ended and not damaged:
        damaged = 1  # something is missing at its end
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
