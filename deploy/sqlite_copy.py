"""Copies a SQLite database that others may be writing to, and looks the copy over.

    python deploy/sqlite_copy.py FROM TO [restored]

TO must not be there. It becomes one file in itself (no journal beside it) that holds one consistent
state, is sound by SQLite's own checks and is a database of this service; else there is no TO.
A copy that is `restored` numbers its next events above all that came after the backup was taken.
Needs nothing but Python.
"""

from __future__ import annotations

import os
import sqlite3
import sys
import time
from contextlib import closing
from pathlib import Path


class Unsound(Exception):
    """The copy is not what it should be; the message says why."""


def copy(source: Path, target: Path, *, restored: bool = False) -> None:
    """Copy by SQLite's online backup: one state, however many write meanwhile.

    Args:
        source: the database.
        target: the copy.
        restored: whether the service goes on with the copy.

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
            if restored:
                number_above(here, time.time_ns() // 1_000_000)
            check(here)
        with target.open("rb") as file:
            os.fsync(file.fileno())
    except BaseException:
        target.unlink()
        raise


def number_above(database: sqlite3.Connection, least: int) -> None:
    """Have the next events numbered above that.

    Readers keep the number of the last event that they have read, which may have come after the
    backup. Milliseconds since 1970 are above it, as long as a shop has fewer than a thousand events
    a second.
    """
    if database.execute("SELECT 1 FROM sqlite_master WHERE name = 'events'").fetchone() is None:
        return
    with database:
        raised = "UPDATE sqlite_sequence SET seq = max(seq, ?) WHERE name = 'events'"
        if database.execute(raised, (least,)).rowcount == 0:
            database.execute("INSERT INTO sqlite_sequence VALUES ('events', ?)", (least,))


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
    if len(sys.argv) not in (3, 4) or sys.argv[3:] not in ([], ["restored"]):
        sys.exit(__doc__)
    try:
        copy(Path(sys.argv[1]), Path(sys.argv[2]), restored=len(sys.argv) == 4)
    except (Unsound, OSError, sqlite3.Error) as error:
        sys.exit(str(error))
