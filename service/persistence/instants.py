"""Timestamps of changes, in the order in which the changes are committed.

A reader who asks for changes since an instant must not miss one that has an earlier timestamp but
is committed later: by another node, in a longer transaction, or after the clock was set back. So
each timestamp comes from a row that its transaction locks until it ends, and is never before the
row's last one. Whatever is committed later has a later timestamp, or the same.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ColumnElement, bindparam, case, literal, select
from sqlalchemy.dialects import postgresql, sqlite

from service.domain.quotes.numbers import FIRST_SERIAL
from service.persistence.shop import counters
from service.persistence.sql.session import Session
from service.persistence.sql.types import Instant

_LAST = select(counters.c.stamped_at).where(
    counters.c.shop_id == bindparam("shop_id"), counters.c.series == bindparam("series")
)


def not_before(at: ColumnElement[datetime]) -> ColumnElement[datetime]:
    """Return the timestamp for a change at `at`: never before that of the last change."""
    return case((counters.c.stamped_at > at, counters.c.stamped_at), else_=at)


class SqlInstants:
    """The SQL implementation of the `Instants` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def turn(self, shop_id: str, of: str, at: datetime) -> datetime:
        """Lock such changes of the shop until the transaction ends, and return a timestamp for one.

        Returns:
            `at`, or the timestamp of the last change if that is later.
        """
        connection = self._session.connection
        dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
        first = {"shop_id": shop_id, "series": of, "last_value": FIRST_SERIAL - 1}
        statement = (
            dialect.insert(counters)
            .values(**first, stamped_at=at)
            .on_conflict_do_update(
                index_elements=["shop_id", "series"],
                set_={"stamped_at": not_before(literal(at, Instant))},
            )
            .returning(counters.c.stamped_at)
        )
        taken: datetime = connection.execute(statement).scalar_one()
        return taken

    def last(self, shop_id: str, of: str) -> datetime | None:
        """Return the timestamp of the last visible change; none that comes later is earlier."""
        values = {"shop_id": shop_id, "series": of}
        found: datetime | None = self._session.connection.execute(_LAST, values).scalar()
        return found


OF_QUOTES, OF_ITEMS = "quote", "item"
