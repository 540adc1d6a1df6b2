"""Removing customers from an archive: a file is rewritten beside itself, then replaced.

Each file is locked meanwhile, so a run that still writes to it is waited for. Batches that name
nobody to be forgotten are copied byte for byte. A torn end left by a run is dropped: its records
were never erased from the database. Damaged batches stay as they are and are reported, since it
cannot be known who is named in them.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO

import orjson

from service.persistence.retention.customers import is_address_of
from service.persistence.retention.files import (
    NEW,
    files,
    is_part,
    opened,
    plain_refusals,
    sync_folder,
)
from service.persistence.retention.lines import NAMELESS, QUOTE, nameless
from service.persistence.retention.members import FilePart, file_parts, records_of, write_member
from service.persistence.retention.records import ArchiveUnavailable

Named = Callable[[dict[str, Any]], bool]
"""Returns True if an archived quote names somebody who is to be forgotten."""
_CHUNK = 1 << 20


def named_so(email: str) -> Named:
    """Return a test for quotes of a customer with this address, ignoring case."""
    return lambda quote: is_address_of(quote["customer"].encode(), email)


def named_before(unchanged_since: datetime) -> Named:
    """Return a test for quotes that had been unchanged since then when they were archived."""
    return lambda quote: datetime.fromisoformat(quote["updated_at"]) < unchanged_since


def forget(folder: Path, shop: str, named: Named) -> int:
    """Remove the customer from a shop's archived quotes, and return the number of quotes.

    Raises:
        ArchiveUnavailable: a file cannot be read or written, or parts of some are damaged;
            everything readable has been processed by then.
    """
    if not folder.exists():
        return 0
    quotes: set[str] = set()
    damaged = []
    with plain_refusals(folder, "written anew"):
        for path in files(folder, shop):
            with opened(path, hold=True) as found:
                if found is not None and not _forget_in(*found, named, quotes):
                    damaged.append(found[0].name)
    if damaged:
        raise ArchiveUnavailable(
            f"in the archive in {folder} these files are damaged, and who is named in the damaged "
            f"parts is not known: {', '.join(damaged)}; bring them back from a copy and do this "
            "again, or remove them"
        )
    return len(quotes)


def _forget_in(path: Path, file: BinaryIO, named: Named, quotes: set[str]) -> bool:
    """Remove customers from one file; return True if all of it could be read."""

    def to_change(line: bytes) -> str | None:
        if not line.startswith(QUOTE) or line.startswith(NAMELESS):
            return None
        quote = orjson.loads(line)["quote"]
        return str(quote["id"]) if named(quote) else None

    parts = list(file_parts(file, to_change))
    torn = parts.pop() if parts and is_part(path) and not parts[-1].whole else None
    theirs = {quote_id for part in parts for quote_id in part.taken}
    if theirs or torn:
        _write_anew(path, file, parts, to_change)
    quotes |= theirs
    return all(part.whole for part in parts)


def _write_anew(
    path: Path,
    file: BinaryIO,
    parts: Iterable[FilePart[str]],
    to_change: Callable[[bytes], str | None],
) -> None:
    beside = path.with_name(path.name + NEW)
    beside.unlink(missing_ok=True)  # left by an interrupted run; we hold the lock on `path`
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
    with os.fdopen(os.open(beside, flags, 0o600), "wb") as out:
        for part in parts:
            if part.taken:
                head = {name: value for name, value in part.head.items() if name != "format"}
                lines = records_of(file, part.start)
                write_member(out, head, (nameless(x) if to_change(x) else x for x in lines))
            else:
                _copy(file, part.start, part.end, out)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(path)
    sync_folder(path.parent)


def _copy(file: BinaryIO, start: int, end: int, out: BinaryIO) -> None:
    file.seek(start)
    while start < end:
        chunk = file.read(min(_CHUNK, end - start))
        out.write(chunk)
        start += len(chunk)
