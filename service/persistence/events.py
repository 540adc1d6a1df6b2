"""Events in an order that no parallel writer can disturb.

A sequence alone gives no such order in PostgreSQL: a writer that took number 7 may commit after the
one that took 8, and a reader who has seen 8 would never look for 7. So each row also carries the
number of its transaction, and readers see only rows of transactions below the lowest one that still
runs (`pg_snapshot_xmin`). Whatever commits later has a greater number and stands after all that was
read. Nothing is locked and nothing written twice; the price is that a transaction which stays open
holds back the newest events until it ends (idle ones are ended after a minute).

Transaction numbers start anew where a dump is restored into another cluster. `begin_era` is called
then; the era stands above the number, so that earlier events stay before later ones.

SQLite has one writer at a time, so its row numbers are an order already.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Select,
    Text,
    bindparam,
    cast,
    func,
    insert,
    literal,
    literal_column,
    select,
    tuple_,
)

from service.app.records_events import (
    FEED_START,
    EventFilter,
    EventPage,
    EventPlace,
    NewEvent,
    StoredEvent,
)
from service.persistence.prepared import Prepared
from service.persistence.session import Session
from service.persistence.tables_events import event_eras, events

_PER_ERA = 1 << 48
"""More transactions than any cluster ever runs."""
_ERA = func.coalesce(select(func.max(event_eras.c.era)).scalar_subquery(), 0)
_NUMBER = cast(cast(func.pg_current_xact_id(), Text), BigInteger)
_LOWEST = cast(cast(func.pg_snapshot_xmin(func.pg_current_snapshot()), Text), BigInteger)
_TURN = cast(_ERA, BigInteger) * literal(_PER_ERA, BigInteger) + _NUMBER
_UNDECIDED = cast(_ERA, BigInteger) * literal(_PER_ERA, BigInteger) + _LOWEST
_FIELDS = ("shop_id", "key_id", "at", "kind", "subject", "subject_id", "before", "after")
_INSERT = insert(events).values({name: bindparam(name) for name in _FIELDS})
# inline: nobody asks for the row's number here, so it need not come back
_OF_SQLITE = _INSERT.values(turn=literal_column("0")).inline()
_OF_POSTGRES = _INSERT.values(turn=_TURN).inline()
_ONE_OF_SQLITE, _ONE_OF_POSTGRES = Prepared(_OF_SQLITE), Prepared(_OF_POSTGRES)
_ONLY_TURN = 0
"""The turn of every row in SQLite."""
_MOST_AT_ONCE = 1_000
SIFTED = 5_000
"""So many events are looked through for those of one kind, for one page."""


class SqlEvents:
    """The port `Events` over SQL."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._many_writers = session.connection.dialect.name == "postgresql"

    def add(self, event: NewEvent) -> None:
        """Store an event with whatever else this transaction stores."""
        statement = _ONE_OF_POSTGRES if self._many_writers else _ONE_OF_SQLITE
        statement.run(self._session.connection, _row(event))

    def add_all(self, new: Sequence[NewEvent]) -> None:
        """Store several events at once, in their order."""
        if new:
            statement = _OF_POSTGRES if self._many_writers else _OF_SQLITE
            self._session.connection.execute(statement, [_row(event) for event in new])

    def page(self, shop_id: str, wanted: EventFilter, limit: int, after: EventPlace) -> EventPage:
        """A shop's events after a place, oldest first."""
        statement = select(events).where(events.c.shop_id == shop_id)
        if wanted.subject_id is not None:
            statement = statement.where(events.c.subject_id == wanted.subject_id)
        statement = statement.where(*self._behind(after), *self._decided())
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
        """Those of one kind among the next `SIFTED` events, and where to go on behind them.

        No index is kept by kind, which every event would pay for; so a kind that is rare among
        many is looked for a stretch at a time, and a page may be empty with more to come.
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
        """Rows after a place.

        SQLite looks up only the first of two columns that are compared as one where the second is
        the row's own number, and would read the feed from its beginning each time. There all rows
        have one turn, so that the number alone says it.
        """
        if not self._many_writers and after.turn == _ONLY_TURN:
            return events.c.turn == _ONLY_TURN, events.c.id > after.id
        return (tuple_(events.c.turn, events.c.id) > (after.turn, after.id),)

    def end(self, shop_id: str) -> EventPlace:
        """The place behind all that can be read now."""
        last = select(events.c.turn, events.c.id).where(
            events.c.shop_id == shop_id, *self._decided()
        )
        newest = last.order_by(events.c.turn.desc(), events.c.id.desc()).limit(1)
        row = self._session.connection.execute(newest).one_or_none()
        return FEED_START if row is None else EventPlace(row.turn, row.id)

    def begin_era(self, at: datetime) -> int:
        """Count transactions anew from here on; for a database that was moved to another cluster.

        Returns:
            the number of the era, from 1.
        """
        era: int = self._session.connection.execute(select(_ERA)).scalar_one() + 1
        self._session.connection.execute(insert(event_eras), {"era": era, "begun_at": at})
        return era

    def _decided(self) -> tuple[ColumnElement[bool], ...]:
        """Rows before which none can appear any more."""
        return (events.c.turn < _UNDECIDED,) if self._many_writers else ()


def _row(event: NewEvent) -> dict[str, Any]:
    return {name: getattr(event, name) for name in _FIELDS}


def stored_event(row: Any) -> StoredEvent:
    """The event of a row of the table."""
    event = NewEvent(**{name: getattr(row, name) for name in _FIELDS})
    return StoredEvent(EventPlace(row.turn, row.id), event)
