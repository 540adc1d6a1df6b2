"""Connections to PostgreSQL that do not wait forever for a hung server.

The server's own time limits (`statement_timeout`, `lock_timeout`) have no effect if the server
itself hangs; its machine still acknowledges packets, so keepalives and `tcp_user_timeout` only
detect a lost machine or network. So every wait also ends here, a little after the server's limit.
The connection is then closed, since its next reply could belong to any statement.
"""

from __future__ import annotations

from time import monotonic
from typing import Any, TypeVar

from psycopg import Connection, OperationalError
from sqlalchemy import Engine, event
from sqlalchemy.exc import InvalidatePoolError

from service.persistence.sql.outage import PING_SECONDS

RV = TypeVar("RV")
FRESH_SECONDS = 0.1
"""A connection used within this time is not tested again: a busy server saves the round trip."""
SLACK_SECONDS = 1.0
"""The delay after the server's limit at which a wait ends here."""


class BoundedConnection(Connection[Any]):
    """A connection that never waits longer than `longest` seconds."""

    longest = 16.0
    tested = False
    """True while it is only asked whether it answers."""
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
        commits = self._commits or self.autocommit
        longest = PING_SECONDS if self.tested else self.longest / (1 + commits)
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

    A pooled connection that was not used just now is tested before it is used.
    """

    class Bounded(BoundedConnection):
        longest = statement_seconds + SLACK_SECONDS

    @event.listens_for(engine, "do_connect")
    def connect(_dialect: object, _record: object, args: Any, named: Any) -> Any:
        return Bounded.connect(*args, **named)

    @event.listens_for(engine, "connect")
    @event.listens_for(engine, "checkin")
    def note_use(_driver: object, record: Any) -> None:
        record.info["used"] = monotonic()

    @event.listens_for(engine, "checkout")
    def look(driver: Any, record: Any, _proxy: object) -> None:
        if monotonic() - record.info["used"] > FRESH_SECONDS:
            _test(engine, driver)


def _test(engine: Engine, driver: Any) -> None:
    """Check that a pooled connection answers.

    Raises:
        InvalidatePoolError: it does not; the pool opens a new one, and gives none of the old.
    """
    driver.tested = True
    try:
        engine.dialect.do_ping(driver)
    except engine.dialect.loaded_dbapi.Error as error:
        raise InvalidatePoolError("a pooled connection does not answer") from error
    finally:
        driver.tested = False
