"""Timestamps of changes, and up to which instant a reader has seen all changes.

A reader who asks for changes since an instant must not miss one that has an earlier timestamp but
is committed later: by another node, in a longer transaction, or after the clock was set back.

SQLite has one writer at a time. There, and for catalogue items, a timestamp comes from a row that
its transaction locks until it ends, and is never before the row's last one.

In PostgreSQL new quotes of a shop do not wait for each other. So the function `change_instant`
announces each change of a quote or ticket: it reads the shop's last instant, takes a shared
advisory lock whose key carries that instant, and only then gives the change a timestamp, not before
the last instant visible by then. The lock is held until the transaction ends. A reader asks for
these in order, each in its own statement:

1. the last instant; 2. the lowest instant carried by the locks held for the shop; 3. the changes.

No change before the lower of the two appears later. A writer whose lock is seen has a timestamp
not before the instant it carries. A writer whose lock is not seen either took it after step 2, and
has a timestamp not before the instant of step 1, or had ended before step 2, and step 3 sees its
rows.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from sqlalchemy import ColumnElement, bindparam, case, func, literal, select, text
from sqlalchemy.dialects import postgresql, sqlite

from service.domain.quotes.numbers import FIRST_SERIAL
from service.persistence.shop import counters
from service.persistence.sql.session import Session
from service.persistence.sql.types import Instant

OF_QUOTES, OF_ITEMS = "quote", "item"
_LAST = select(counters.c.stamped_at).where(
    counters.c.shop_id == bindparam("shop_id"), counters.c.series == bindparam("series")
)
_LAST_OF_QUOTES = select(func.last_change_instant(bindparam("shop_id"), type_=Instant))
_LOWEST = text(
    "SELECT min(((classid::bigint & 255) << 32) | objid::bigint) FROM pg_locks "
    "WHERE locktype = 'advisory' AND objsubid = 1 "
    "AND database = (SELECT oid FROM pg_database WHERE datname = current_database()) "
    "AND classid::bigint >> 8 = (1258 << 12) | (hashtext(:shop_id) & 4095)"
)
_CARRIED = timedelta(milliseconds=10)
"""The unit of the instants that locks carry; see migration 0016."""


def not_before(at: ColumnElement[datetime]) -> ColumnElement[datetime]:
    """Return the timestamp for a change at `at`: never before that of the last change."""
    return case((counters.c.stamped_at > at, counters.c.stamped_at), else_=at)


def change_instant(
    shop_id: ColumnElement[str], at: ColumnElement[datetime]
) -> ColumnElement[datetime]:
    """Return the timestamp for a change in PostgreSQL, which it announces."""
    return func.change_instant(shop_id, at, type_=Instant)


class SqlInstants:
    """The instants of a shop's changes."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._announces = session.connection.dialect.name == "postgresql"

    def turn(self, shop_id: str, of: str, at: datetime) -> datetime:
        """Lock such changes of the shop until the transaction ends, and return a timestamp for one.

        New quotes do not wait for the lock in PostgreSQL.

        Returns:
            `at`, or the timestamp of the last change if that is later.
        """
        connection = self._session.connection
        dialect = postgresql if self._announces else sqlite
        if self._announces and of == OF_QUOTES:
            announced = select(change_instant(literal(shop_id), literal(at, Instant)))
            at = connection.execute(announced).scalar_one()
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
        """Return the instant before which no change can appear later; None if there is no change.

        Ask before reading the changes, in a unit of work that follows what is committed.
        """
        connection = self._session.connection
        if not (self._announces and of == OF_QUOTES):
            plain: datetime | None = connection.execute(
                _LAST, {"shop_id": shop_id, "series": of}
            ).scalar()
            return plain
        last: datetime | None = connection.execute(_LAST_OF_QUOTES, {"shop_id": shop_id}).scalar()
        lowest: int | None = connection.execute(_LOWEST, {"shop_id": shop_id}).scalar_one()
        if last is None or lowest is None:
            return last
        return min(last, datetime.fromtimestamp(0, UTC) + lowest * _CARRIED)
