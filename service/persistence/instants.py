"""Instants of changes, in the order in which the changes are kept.

A reader who asks for what changed since an instant must not miss a change that bears an earlier
instant and is kept later: by another node, in a longer transaction, after the clock was set back.
So the instant is taken from a row that its transaction holds until it ends, and is never before the
one that the row has. Whatever is kept later bears a later instant, or the same.
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
    """The instant of a change at `at`: not before that of the last one."""
    return case((counters.c.stamped_at > at, counters.c.stamped_at), else_=at)


class SqlInstants:
    """The port `Instants` over SQL."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def turn(self, shop_id: str, of: str, at: datetime) -> datetime:
        """Wait until nobody else changes such things of the shop, and take the instant of a change.

        Returns:
            `at`, or the instant of the last change where it is later.
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
        """The instant of the last change that can be seen; none that comes is earlier."""
        values = {"shop_id": shop_id, "series": of}
        found: datetime | None = self._session.connection.execute(_LAST, values).scalar()
        return found


OF_QUOTES, OF_ITEMS = "quote", "item"
