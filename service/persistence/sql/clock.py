"""The clock of the database, which is the one clock of all nodes.

Two machines' clocks may be apart; what one writes and another compares (claims, beats, leases, the
instants of changes) would then mean something else to each. So nodes tell the time by PostgreSQL's
clock. It is read within a transaction that is begun anyway, every few seconds, and carried on
between by this machine's count of elapsed time, which nobody sets. It is right to within half of
the round trip in which it was read. SQLite is used by one machine alone, so its clock is that of
the machine.
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
"""Seconds after which the database's clock is read anew."""
QUICK = 0.1
"""A reading that took longer than so many seconds is used only in place of an old one."""
OLD = 60.0


class _Reading(NamedTuple):
    """What the database's clock showed when `elapsed` seconds were counted here."""

    at: datetime
    elapsed: float


def elapsed() -> float:
    """Seconds that passed, those in which the machine slept too; nobody can set them."""
    return time.clock_gettime(time.CLOCK_BOOTTIME) if _SLEEP_COUNTS else time.monotonic()


_SLEEP_COUNTS = hasattr(time, "CLOCK_BOOTTIME")


class DatabaseClock:
    """The port `Clock` by PostgreSQL's clock; safe for threads.

    Before the database was ever reached it tells this machine's own time.
    """

    def __init__(self, engine: Engine, own: Clock, elapsed: Callable[[], float] = elapsed) -> None:
        self._engine = engine
        self._own = own
        self._elapsed = elapsed
        self._lock = Lock()
        self._read: _Reading | None = None
        self._tried = float("-inf")

    def __call__(self) -> datetime:
        """Now, in UTC."""
        if self._read is None and self._is_due():
            self._read_alone()
        read = self._read
        if read is None:
            return self._own()
        return read.at + timedelta(seconds=self._elapsed() - read.elapsed)

    def follow(self, connection: Connection) -> None:
        """Read the clock within a transaction that has begun, where it is time for that."""
        if self._is_due():
            self._learn(connection)

    def _is_due(self) -> bool:
        """Whether it is time to read the clock; True for one of those who ask at once."""
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
            return  # whoever needs the database itself will say so

    def _learn(self, connection: Connection) -> None:
        begun = self._elapsed()
        at: datetime = connection.exec_driver_sql("SELECT clock_timestamp()").scalar_one()
        ended = self._elapsed()
        known = self._read
        slow = ended - begun > QUICK
        if known is None or not slow or ended - known.elapsed > OLD:
            self._read = _Reading(at, (begun + ended) / 2)
