"""Events, in an order that parallel writers cannot disturb.

PostgreSQL: a trigger gives each row its number and the turn of the current era (`eras.py`), and
readers stop before the first event that could still appear (`horizon.py`). Nothing is written twice
and nobody waits; the cost is that an open transaction that has stored an event holds back later
events of its shop (idle transactions are ended after a minute).

SQLite has one writer at a time, so its row numbers are already in order.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Select,
    bindparam,
    func,
    insert,
    literal_column,
    select,
    tuple_,
)

from schemas.events.records import (
    FEED_START,
    EventFilter,
    EventPage,
    EventPlace,
    NewEvent,
    StoredEvent,
)
from service.persistence.events import horizon
from service.persistence.events.tables import events
from service.persistence.sql.prepared import Prepared
from service.persistence.sql.session import Session

FIELDS = ("shop_id", "key_id", "at", "kind", "subject", "subject_id", "before", "after")
_INSERT = insert(events).values({name: bindparam(name) for name in FIELDS})
# inline: the row's number is not used here, so it need not be returned
_OF_SQLITE = _INSERT.values(turn=literal_column("0")).inline()
_OF_POSTGRES = _INSERT.inline()  # set by a trigger
_ONE_OF_SQLITE, _ONE_OF_POSTGRES = Prepared(_OF_SQLITE), Prepared(_OF_POSTGRES)
_ONLY_TURN = 0
"""The turn of every row in SQLite."""
_MOST_AT_ONCE = 1_000
SIFTED = 5_000
"""The number of events searched for those of one kind, per page."""


class SqlEvents:
    """The SQL implementation of the `Events` port."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._many_writers = session.connection.dialect.name == "postgresql"

    def add(self, event: NewEvent) -> None:
        """Store an event in this transaction."""
        statement = _ONE_OF_POSTGRES if self._many_writers else _ONE_OF_SQLITE
        statement.run(self._session.connection, _row(event))

    def add_all(self, new: Sequence[NewEvent]) -> None:
        """Store several events at once, in their order."""
        if new:
            statement = _OF_POSTGRES if self._many_writers else _OF_SQLITE
            self._session.connection.execute(statement, [_row(event) for event in new])

    def page(self, shop_id: str, wanted: EventFilter, limit: int, after: EventPlace) -> EventPage:
        """Return a shop's events after a place, oldest first."""
        statement = select(events).where(events.c.shop_id == shop_id)
        if wanted.subject_id is not None:
            statement = statement.where(events.c.subject_id == wanted.subject_id)
        statement = statement.where(*self._behind(after), *self._decided(shop_id))
        statement = statement.order_by(events.c.turn, events.c.id)
        asked = min(limit, _MOST_AT_ONCE)
        if wanted.kind is not None:
            return self._sifted(statement, wanted.kind, asked, after)
        rows = self._session.connection.execute(statement.limit(asked + 1)).all()
        found = tuple(stored_event(row) for row in rows[:asked])
        return EventPage(found, found[-1].place if found else after, more=len(rows) > asked)

    def _sifted(
        self, statement: Select[Any], kind: str, asked: int, after: EventPlace
    ) -> EventPage:
        """Return the events of one kind among the next `SIFTED`, and where to continue.

        There is no index by kind, which would slow down every insert. A rare kind is therefore
        searched for one stretch at a time, and a page may be empty although more follow.
        """
        stretch = statement.limit(SIFTED).subquery()
        order = stretch.c.turn, stretch.c.id
        connection = self._session.connection
        mine = select(stretch).where(stretch.c.kind == kind).order_by(*order).limit(asked + 1)
        rows = connection.execute(mine).all()
        found = tuple(stored_event(row) for row in rows[:asked])
        if len(rows) > asked:
            return EventPage(found, found[-1].place, more=True)
        places = statement.with_only_columns(events.c.turn, events.c.id).limit(SIFTED).subquery()
        count = connection.execute(select(func.count()).select_from(places)).scalar_one()
        if not count:
            return EventPage(found, after, more=False)
        last = select(places).order_by(places.c.turn.desc(), places.c.id.desc()).limit(1)
        return EventPage(found, EventPlace(*connection.execute(last).one()), more=count == SIFTED)

    def _behind(self, after: EventPlace) -> tuple[ColumnElement[bool], ...]:
        """Return the condition for rows after a place.

        When SQLite compares a pair of columns of which the second is the rowid, it uses the index
        for the first only, and would read the feed from its start each time. In SQLite every row
        has the same turn, so comparing the number is enough.
        """
        if not self._many_writers and after.turn == _ONLY_TURN:
            return events.c.turn == _ONLY_TURN, events.c.id > after.id
        return (tuple_(events.c.turn, events.c.id) > (after.turn, after.id),)

    def end(self, shop_id: str) -> EventPlace:
        """Return the place after everything that can be read now."""
        last = select(events.c.turn, events.c.id).where(
            events.c.shop_id == shop_id, *self._decided(shop_id)
        )
        newest = last.order_by(events.c.turn.desc(), events.c.id.desc()).limit(1)
        row = self._session.connection.execute(newest).one_or_none()
        return FEED_START if row is None else EventPlace(row.turn, row.id)

    def lag(self) -> timedelta:
        """Return how long events have been held back by a transaction that is still open."""
        return horizon.lag(self._session.connection) if self._many_writers else timedelta()

    def _decided(self, shop_id: str) -> tuple[ColumnElement[bool], ...]:
        """Return the condition for rows before which no new row can appear."""
        if not self._many_writers:
            return ()
        return (horizon.decided(self._session.connection, shop_id),)


def _row(event: NewEvent) -> dict[str, Any]:
    return {name: getattr(event, name) for name in FIELDS}


def stored_event(row: Any) -> StoredEvent:
    """Return the event in a row of the table."""
    event = NewEvent(**{name: getattr(row, name) for name in FIELDS})
    return StoredEvent(EventPlace(row.turn, row.id), event)
