"""The outcome of a transaction that ended in an error: certainly undone, or unknown.

A server that refuses a COMMIT says so, and has undone everything. A connection lost meanwhile says
nothing: the COMMIT may have happened before the loss, or happen after it.
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
    """Return True if a transaction whose COMMIT failed with this error is certainly undone."""
    driver: Any = getattr(error, "orig", None)
    if isinstance(driver, sqlite3.Error):
        return (driver.sqlite_errorcode & _PRIMARY) in _NOT_BEGUN
    diagnosis = getattr(driver, "diag", None)
    if diagnosis is None or diagnosis.sqlstate is None:
        return False
    return bool(
        diagnosis.severity_nonlocalized == "ERROR" or diagnosis.sqlstate == _ENDED_WHILE_IDLE
    )


def waits_for_standby(connection: Connection) -> bool:
    """Return True if commits wait for a standby.

    After a crash PostgreSQL shows what it had stored itself, whether or not a standby has it.
    """
    if connection.dialect.name != "postgresql":
        return False
    named = connection.exec_driver_sql("SHOW synchronous_standby_names").scalar_one()
    return bool(named)
