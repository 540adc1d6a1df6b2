"""The database's clock, which all nodes use.

Two machines' clocks may differ; what one writes and another compares (claims, heartbeats, leases,
timestamps of changes) would then be inconsistent. So nodes use PostgreSQL's clock. It is read every
few seconds within a transaction that is begun anyway, and advanced in between by this machine's
monotonic clock. It is accurate to half the round trip in which it was read. SQLite is used by one
machine only, so its clock is that of the machine.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime, timedelta
from threading import Lock
from typing import NamedTuple

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.persistence.sql.session import Clock

READ_EVERY = 10.0
"""Seconds after which the database's clock is read again."""
QUICK = 0.1
"""A reading that took more seconds than this only replaces an old one."""
OLD = 60.0


class _Reading(NamedTuple):
    """The database's clock at the moment when our own counter showed `elapsed` seconds."""

    at: datetime
    elapsed: float


def elapsed() -> float:
    """Return elapsed seconds, including time asleep; unaffected by changes to the clock."""
    return time.clock_gettime(time.CLOCK_BOOTTIME) if _SLEEP_COUNTS else time.monotonic()


_SLEEP_COUNTS = hasattr(time, "CLOCK_BOOTTIME")


class DatabaseClock:
    """The `Clock` port by PostgreSQL's clock; thread-safe.

    Until the database is first reached it returns this machine's own time.
    """

    def __init__(self, engine: Engine, own: Clock, elapsed: Callable[[], float] = elapsed) -> None:
        self._engine = engine
        self._own = own
        self._elapsed = elapsed
        self._lock = Lock()
        self._read: _Reading | None = None
        self._tried = float("-inf")

    def __call__(self) -> datetime:
        """Return the current time, in UTC."""
        if self._read is None and self._is_due():
            self._read_alone()
        read = self._read
        if read is None:
            return self._own()
        return read.at + timedelta(seconds=self._elapsed() - read.elapsed)

    def follow(self, connection: Connection) -> None:
        """Read the clock within a transaction that has begun, if a reading is due."""
        if self._is_due():
            self._learn(connection)

    def _is_due(self) -> bool:
        """Return True if a reading is due, to one of several threads that ask at once."""
        now = self._elapsed()
        with self._lock:
            if now - self._tried < READ_EVERY:
                return False
            self._tried = now
            return True

    def _read_alone(self) -> None:
        try:
            with self._engine.connect() as connection:
                self._learn(connection)
        except (OperationalError, InterfaceError, PoolTimeout, OSError):
            return  # a caller that needs the database will report it

    def _learn(self, connection: Connection) -> None:
        begun = self._elapsed()
        at: datetime = connection.exec_driver_sql("SELECT clock_timestamp()").scalar_one()
        ended = self._elapsed()
        known = self._read
        slow = ended - begun > QUICK
        if known is None or not slow or ended - known.elapsed > OLD:
            self._read = _Reading(at, (begun + ended) / 2)
