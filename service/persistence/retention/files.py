"""The files of an archive: one SQLite database for each shop and year, in one folder."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from sqlite3 import Connection
from typing import TypeVar
from urllib.parse import quote, unquote

from service.persistence.retention.records import ArchiveUnavailable, Damaged
from service.persistence.retention.rows import make_tables

T = TypeVar("T")
_NAME = re.compile(r"(?P<shop>.+)\.\d{4}\.sqlite3", re.ASCII)
WAIT_SECONDS = 600
"""How long one who writes waits for another; taking names out of a year takes seconds."""
_SYSTEM = {
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_NOMEM,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_READONLY,
}
"""What the disk, another process or the permissions are to blame for; all else is damage."""


@contextmanager
def plain_refusals(folder: Path, what: str) -> Iterator[None]:
    """Turn errors of the system and of SQLite into one sentence.

    Raises:
        ArchiveUnavailable: in place of each of them.
    """
    try:
        yield
    except (OSError, sqlite3.Error) as error:
        why = (getattr(error, "strerror", None) or str(error)).lower()
        raise ArchiveUnavailable(
            f"the archive in {folder} cannot be {what}: {why}; nothing was erased that does not "
            "stand in it"
        ) from error


def make_ready(folder: Path) -> None:
    """Make sure that files can be created in that folder, creating it if needed.

    Raises:
        ArchiveUnavailable: they cannot.
    """
    with plain_refusals(folder, "made"), suppress(FileExistsError):
        need_parent(folder)
        folder.mkdir(mode=0o700)
        _sync(folder.parent)
    need_folder(folder)
    if not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
        raise ArchiveUnavailable(f"FRAMING_QUOTES_ARCHIVE: this user may not write to {folder}")


def need_folder(folder: Path) -> None:
    """Make sure that this is a folder.

    Raises:
        ArchiveUnavailable: it is a file or does not exist.
    """
    if folder.is_dir():
        return
    if os.path.lexists(folder):
        raise ArchiveUnavailable(f"FRAMING_QUOTES_ARCHIVE: {folder} is not a folder")
    need_parent(folder)
    raise ArchiveUnavailable(f"there is no archive in {folder} yet; tidy makes it")


def need_parent(folder: Path) -> None:
    """Make sure that an archive's parent folder exists.

    Raises:
        ArchiveUnavailable: it does not.
    """
    if not folder.parent.is_dir():
        raise ArchiveUnavailable(
            f"FRAMING_QUOTES_ARCHIVE: there is no folder {folder.parent} to make the archive in; "
            "make it first, or name another one"
        )


def file_for(folder: Path, shop: str, year: int) -> Path:
    """Return the file of a shop and a year, created for its owner alone if it is new.

    Raises:
        OSError: it cannot be created.
    """
    path = folder / f"{quote(shop, safe='')}.{year:04}.sqlite3"
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600))
        _sync(folder)
    return path


def shop_of(path: Path) -> str:
    """Return the code of the shop whose records a file holds; empty if it is no such file."""
    found = _NAME.fullmatch(path.name)
    return unquote(found["shop"]) if found else ""


def files(folder: Path, shop: str | None = None) -> list[Path]:
    """Return the files of one shop, or of all, ordered by name."""
    mine = (path for path in folder.iterdir() if shop_of(path))
    return sorted(path for path in mine if shop is None or shop_of(path) == shop)


@contextmanager
def opened(path: Path) -> Iterator[Connection]:
    """Open a file; what was not committed at the end is rolled back.

    A commit is synced, with its folder (EXTRA), and deleted content is overwritten.
    """
    place = f"{path.absolute().as_uri()}?mode=rw"
    with closing(
        sqlite3.connect(place, uri=True, isolation_level=None, timeout=WAIT_SECONDS)
    ) as file:
        file.row_factory = sqlite3.Row
        file.execute("PRAGMA synchronous = EXTRA")
        file.execute("PRAGMA secure_delete = ON")
        yield file


def begin(file: Connection) -> None:
    """Begin to write: nobody else does until the end."""
    file.execute("BEGIN IMMEDIATE")
    make_tables(file)


def taken(path: Path, take: Callable[[Connection], T]) -> T | None:
    """Return what `take` makes of a file, or None if the file is damaged."""
    try:
        with opened(path) as file:
            if not file.execute("SELECT 1 FROM sqlite_master").fetchone():
                if path.stat().st_size:
                    raise Damaged
                begin(file)  # created by a run that was broken off at once
                file.execute("COMMIT")
            return take(file)
    except (Damaged, ValueError):  # a name in it that is no UTF-8, or an instant that is none
        return None
    except sqlite3.Error as error:
        if getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF in _SYSTEM:
            raise
        return None


def _sync(folder: Path) -> None:
    """Sync a folder, so that the names in it survive a power loss."""
    file = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(file)
    finally:
        os.close(file)
