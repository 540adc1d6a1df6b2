"""Reading an archive: which quotes it holds, what its files hold, and whether they are whole.

This needs no database. A quote may be archived several times; its latest version is returned.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from sqlite3 import Connection

from service.persistence.retention.files import files, need_folder, plain_refusals, shop_of, taken
from service.persistence.retention.records import WholeQuote
from service.persistence.retention.rows import EVERY, is_whole, quote_of, rows


@dataclass(frozen=True, slots=True)
class FileContents:
    """The contents of one file; `damaged` counts the rows that are not whole.

    A file of which SQLite cannot read everything counts as one more.
    """

    name: str
    shop: str
    quotes: int = 0
    events: int = 0
    first: datetime | None = None
    last: datetime | None = None
    damaged: int = 1


@dataclass(frozen=True, slots=True)
class Search:
    """The latest version of a quote in each shop that has it; the number of unreadable files."""

    found: dict[str, WholeQuote]
    damaged: int


def contents(folder: Path, shop: str | None = None) -> list[FileContents]:
    """Return the contents of each file, after checking every row.

    Raises:
        ArchiveUnavailable: there is no such folder, or it cannot be read.
    """
    need_folder(folder)
    with plain_refusals(folder, "read"):
        return [_contents(path) for path in files(folder, shop)]


def search(folder: Path, *, quote_id: str = "", serial: int = 0, shop: str | None = None) -> Search:
    """Look a quote up by its id or serial.

    Raises:
        ArchiveUnavailable: there is no such folder, or it cannot be read.
    """
    need_folder(folder)
    latest: dict[str, WholeQuote] = {}
    damaged = 0

    def found(file: Connection) -> list[WholeQuote]:
        same = rows(file, "SELECT * FROM quotes WHERE id = ? OR serial = ?", quote_id, serial)
        return [quote_of(file, row) for row in same]

    with plain_refusals(folder, "read"):
        for path in files(folder, shop):
            quotes = taken(path, found)
            damaged += quotes is None
            for quote in quotes or ():
                known = latest.setdefault(shop_of(path), quote)
                if known.head.version < quote.head.version:
                    latest[shop_of(path)] = quote
    return Search(latest, damaged)


def _contents(path: Path) -> FileContents:
    def counted(file: Connection) -> FileContents:
        (sound,) = file.execute("PRAGMA integrity_check(1)").fetchone()
        whole = {
            table: [is_whole(row) for row in rows(file, every)] for table, every in EVERY.items()
        }
        instants = [datetime.fromisoformat(at) for at in _instants(file) if at]
        return FileContents(
            name=path.name,
            shop=shop_of(path),
            quotes=len(whole["quotes"]),
            events=len(whole["events"]),
            first=min(instants, default=None),
            last=max(instants, default=None),
            damaged=(sound != "ok") + sum(each.count(False) for each in whole.values()),
        )

    return taken(path, counted) or FileContents(path.name, shop_of(path))


def _instants(file: Connection) -> tuple[str | None, ...]:
    """Return the first and the last instant of the quotes and of the events, where there are any.

    All are of UTC, so that they sort as texts, fractions of a second apart.
    """
    return (
        *file.execute("SELECT min(created_at), max(updated_at) FROM quotes").fetchone(),
        *file.execute("SELECT min(at), max(at) FROM events").fetchone(),
    )
