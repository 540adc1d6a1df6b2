"""Copies a SQLite database that others may be writing to, and looks the copy over.

    python deploy/sqlite_copy.py FROM TO

TO must not be there. It becomes one file in itself (no journal beside it) that holds one consistent
state, is sound by SQLite's own checks and is a database of this service; else there is no TO.
Needs nothing but Python.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from contextlib import closing
from pathlib import Path


class Unsound(Exception):
    """The copy is not what it should be; the message says why."""


def copy(source: Path, target: Path) -> None:
    """Copy by SQLite's online backup: one state, however many write meanwhile.

    Raises:
        Unsound: there is no such database, or the copy does not pass its checks.
        FileExistsError: the target is there.
    """
    if not source.is_file():
        raise Unsound(f"there is no database {source}")
    target.touch(mode=0o600, exist_ok=False)
    try:
        with (
            closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as there,
            closing(sqlite3.connect(target)) as here,
        ):
            there.backup(here)
            here.execute("PRAGMA journal_mode = DELETE")
            check(here)
        with target.open("rb") as file:
            os.fsync(file.fileno())
    except BaseException:
        target.unlink()
        raise


def check(database: sqlite3.Connection) -> None:
    """Have SQLite look at every page, index and reference.

    Raises:
        Unsound: something is wrong with it, or it was never a database of this service.
    """
    found = [row[0] for row in database.execute("PRAGMA integrity_check(5)")]
    if found != ["ok"]:
        raise Unsound(f"the database is damaged: {'; '.join(found)}")
    if lost := database.execute("PRAGMA foreign_key_check").fetchmany(5):
        raise Unsound(f"rows point to rows that are not there: {lost}")
    level = "SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'"
    if database.execute(level).fetchone() != (1,):
        raise Unsound("this is no database of this service")


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    try:
        copy(Path(sys.argv[1]), Path(sys.argv[2]))
    except (Unsound, OSError, sqlite3.Error) as error:
        sys.exit(str(error))
