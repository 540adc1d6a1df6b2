"""Serials without gaps, from a counter that begins with its first number."""

from __future__ import annotations

from sqlalchemy.dialects import postgresql, sqlite

from service.domain.quotes.numbers import FIRST_SERIAL
from service.persistence.sql.metadata import counters
from service.persistence.sql.session import Session


def next_serials(session: Session, shop_id: str, series: str, count: int) -> range:
    """The next serials of a series; whoever has them goes first until the unit of work is over."""
    dialect = postgresql if session.connection.dialect.name == "postgresql" else sqlite
    first = {"shop_id": shop_id, "series": series, "last_value": FIRST_SERIAL - 1 + count}
    statement = (
        dialect.insert(counters)
        .values(first)
        .on_conflict_do_update(
            index_elements=["shop_id", "series"],
            set_={"last_value": counters.c.last_value + count},
        )
        .returning(counters.c.last_value)
    )
    last = session.connection.execute(statement).scalar_one()
    return range(last - count + 1, last + 1)
