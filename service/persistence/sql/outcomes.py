"""What an error at the end of a transaction says of it: undone for certain, or not known.

A server that refuses a COMMIT says so, and has undone all. A connection that is lost meanwhile says
nothing: the COMMIT may have been done before it was lost, or be done after it.
"""

from __future__ import annotations

import sqlite3
from typing import Any

from sqlalchemy import Connection

_PRIMARY = 0xFF
_NOT_BEGUN = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_FULL}
"""SQLite's errors (https://sqlite.org/rescode.html) after which nothing of a COMMIT is on disk."""
_ENDED_WHILE_IDLE = "25P03"
"""PostgreSQL ended the connection before the COMMIT came (appendix A, class 25)."""


def is_undone(error: BaseException) -> bool:
    """Whether a transaction whose COMMIT failed so is undone for certain."""
    driver: Any = getattr(error, "orig", None)
    if isinstance(driver, sqlite3.Error):
        return (driver.sqlite_errorcode & _PRIMARY) in _NOT_BEGUN
    said = getattr(driver, "diag", None)
    if said is None or said.sqlstate is None:
        return False
    return bool(said.severity_nonlocalized == "ERROR" or said.sqlstate == _ENDED_WHILE_IDLE)


def waits_for_standby(connection: Connection) -> bool:
    """Whether a commit counts only once a stand-by has it.

    After a crash PostgreSQL shows what it had kept itself, whether or not a stand-by has it.
    """
    if connection.dialect.name != "postgresql":
        return False
    named = connection.exec_driver_sql("SHOW synchronous_standby_names").scalar_one()
    return bool(named)
