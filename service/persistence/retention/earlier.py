"""Archive files that earlier releases wrote, read once and taken over.

A file is a sequence of gzip members, each a batch: a head line, a line of JSON for each record, and
a closing line with their number and the SHA-256 of all lines before it. A last member counts the
batches. A name that ends in `.part` is of a run that was broken off: its torn end was never erased
from the database.
"""

from __future__ import annotations

import fcntl
import hashlib
import re
import zlib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import orjson
from msgspec import convert

from schemas.events.records import StoredEvent
from service.persistence.retention.records import Leaving, WholeQuote

HEADER = bytes.fromhex("1f8b08000000000000ff")
"""The first bytes of every member."""
PART = ".part"
_NAME = re.compile(r"(.+)\.(\d{8}T\d{6}Z)\.[0-9a-f]{16}\.ndjson\.gz(\.part)?", re.ASCII)
_DOCUMENTS = ("request", "result", "costs", "figures")


def files(folder: Path) -> list[Path]:
    """Return the files that an earlier release wrote, ordered by name."""
    return sorted(path for path in folder.iterdir() if _NAME.fullmatch(path.name))


def shop_and_instant(path: Path) -> tuple[str, datetime]:
    """Return the code of a file's shop, and when its run began."""
    shop, at = _NAME.sub(r"\1 \2", path.name).rsplit(" ", 1)
    return unquote(shop), datetime.fromisoformat(at)


def batches(path: Path) -> Iterator[list[Leaving] | None]:
    """Yield the records of each whole batch; None first if any is damaged or missing.

    Raises:
        OSError: it cannot be read, or an earlier release still writes to it.
    """
    with path.open("rb") as file:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        before, *members = file.read().split(HEADER)
    read = [_lines(HEADER + member) for member in members]
    broken_off = path.name.endswith(PART)
    if broken_off and read and not read[-1]:
        read.pop()
    if before or [_place(lines) for lines in read] != _places(len(read), broken_off):
        yield None
    for lines in read:
        yield [*_records(lines[1:])] if lines else []


def remove(path: Path) -> None:
    """Remove a file, and what an interrupted change of it left."""
    path.with_name(f"{path.name}.new").unlink(missing_ok=True)
    path.unlink()


def _lines(member: bytes) -> list[dict[str, Any]]:
    """Return the head and the records of a member; nothing if it is not whole."""
    unpacking = zlib.decompressobj(wbits=31)
    try:
        text, _, last = unpacking.decompress(member)[:-1].rpartition(b"\n")
        lines = [orjson.loads(line) for line in text.split(b"\n")]
        said = {"records": len(lines) - 1, "sha256": hashlib.sha256(text + b"\n").hexdigest()}
        return lines if unpacking.eof and orjson.loads(last) == said else []
    except (zlib.error, ValueError):
        return []


def _place(lines: list[dict[str, Any]]) -> tuple[Any, ...]:
    """Return a batch's number, and of the end how many there were."""
    return tuple(lines[0].get(name) for name in ("batch", "batches")) if lines else ()


def _places(count: int, broken_off: bool) -> list[tuple[int | None, int | None]]:
    """Return the places of all members of a file that is whole."""
    numbered: list[tuple[int | None, int | None]] = [(n, None) for n in range(1, count + 1)]
    return numbered if broken_off else [*numbered[:-1], (None, count - 1)]


def _records(lines: list[dict[str, Any]]) -> Iterator[Leaving]:
    papers: dict[str, bytes] = {}
    for line in lines:
        for kind, stored in line.items():
            if kind == "paper":
                papers[stored["digest"]] = stored["document"].encode()
            elif kind == "quote":
                yield _quote(stored, papers)
            else:
                yield _event(stored)


def _quote(stored: dict[str, Any], papers: dict[str, bytes]) -> WholeQuote:
    revisions = []
    for revision in stored.pop("revisions"):
        own = tuple((kind, digest, papers[digest]) for kind, digest in revision["papers"])
        working = {**_encoded(revision, _DOCUMENTS), "papers": own}
        revisions.append({**revision, "working": working})
    whole = {"head": _encoded(stored, ("customer",)), "revisions": revisions}
    return convert(whole, WholeQuote, builtin_types=(bytes,))


def _event(stored: dict[str, Any]) -> StoredEvent:
    event = _encoded(stored, ("before", "after"))
    return convert({"place": stored, "event": event}, StoredEvent, builtin_types=(bytes,))


def _encoded(stored: dict[str, Any], names: tuple[str, ...]) -> dict[str, Any]:
    """Return this with the documents of these names as bytes."""
    return stored | {name: stored[name].encode() for name in names if stored.get(name) is not None}
