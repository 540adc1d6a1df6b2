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

from service.persistence.sql.outage import PING_SECONDS

RV = TypeVar("RV")
SLACK_SECONDS = 1.0
"""The delay after the server's limit at which a wait ends here."""


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
