"""Connections to PostgreSQL that do not wait forever for a hung server.

The server's own time limits (`statement_timeout`, `lock_timeout`) have no effect if the server
itself hangs; its machine still acknowledges packets, so keepalives and `tcp_user_timeout` only
detect a lost machine or network. So every wait also ends here, a little after the server's limit.
The connection is then closed, since its next reply could belong to any statement.
"""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from time import monotonic
from typing import Any, TypeVar

from psycopg import Connection, OperationalError
from sqlalchemy import Engine, event

RV = TypeVar("RV")
CONNECT_SECONDS = 3
PING_SECONDS = 2.0
"""A pooled connection that does not answer within this time is not used."""
SLACK_SECONDS = 1.0
"""The delay after the server's limit at which a wait ends here."""
SLOW_SECONDS = 1.0
"""A vain wait of this length is reported to the other threads."""
AGAIN_SECONDS = 1.0
"""The delay after which one of them tries again."""
WATCHED = {
    "connect_timeout": CONNECT_SECONDS,
    "keepalives": 1,
    "keepalives_idle": 10,
    "keepalives_interval": 3,
    "keepalives_count": 3,
    "tcp_user_timeout": 10_000,
}
"""libpq's connection options; the last is in milliseconds."""


class BoundedConnection(Connection[Any]):
    """A connection that never waits longer than `longest` seconds."""

    longest = 16.0
    _commits = False

    def commit(self) -> None:
        """Commit; without a reply for half the time, the outcome is better looked up.

        Raises:
            OperationalError: the server did not answer in time, and the connection is closed.
        """
        self._commits = True
        try:
            super().commit()
        finally:
            self._commits = False

    def wait(self, gen: Any, *args: Any, **named: Any) -> Any:
        """Wait for the server, and return its result.

        Raises:
            OperationalError: it did not answer in time, and the connection is closed.
        """
        longest = PING_SECONDS if self.autocommit else self.longest / (1 + self._commits)
        began = monotonic()
        try:
            return super().wait(gen, *args, **{"timeout": longest, **named})
        except Exception:
            if monotonic() - began < longest:
                raise
            self.close()
            raise OperationalError("the server did not answer in time") from None


def bound(engine: Engine, statement_seconds: int) -> None:
    """Have the engine's connections end every wait a little after the server should have.

    The only statement sent outside a transaction is the one that tests a pooled connection.
    """

    class Bounded(BoundedConnection):
        longest = statement_seconds + SLACK_SECONDS

    @event.listens_for(engine, "do_connect")
    def connect(_dialect: object, _record: object, args: Any, named: Any) -> Any:
        return Bounded.connect(*args, **named)


class Outage:
    """Tells all threads that the database hangs, so that not every one has to find out.

    Once one thread has waited in vain, others are refused at once; one of them tries each second,
    and the first to get an answer lets all in again. Thread-safe.
    """

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._lock = Lock()
        self._until = 0.0

    def lets_in(self) -> bool:
        """Return True if the caller may try; while the database hangs, one caller at a time may."""
        if not self._until:
            return True
        with self._lock:
            now = self._clock()
            if self._until and now < self._until:
                return False
            if self._until:
                self._until = now + CONNECT_SECONDS + PING_SECONDS
            return True

    def over(self) -> None:
        """Record that the database has answered."""
        if self._until:
            with self._lock:
                self._until = 0.0

    def failed(self, error: BaseException, began: float) -> None:
        """Record a failure of something begun at `began`, if it was a long wait for nothing."""
        silent = getattr(getattr(error, "orig", None), "sqlstate", None) is None
        now = self._clock()
        with self._lock:
            if silent and (self._until or now - began >= SLOW_SECONDS):
                self._until = now + AGAIN_SECONDS
