"""Stored cut tickets: heads for lists, the document written once, and lots of pieces."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from operator import eq, ge
from typing import Any

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    Row,
    Select,
    Table,
    Text,
    UniqueConstraint,
    bindparam,
    insert,
    select,
    text,
    update,
)

from schemas.tickets.records import NewTicket, StoredTicket, TicketFilter, TicketHead, TicketPage
from schemas.wire.page import Cursor
from service.domain.errors import NotFound, Stale
from service.domain.measure.rounding import exact_sum
from service.domain.quotes.promise import Promised
from service.domain.tickets.progress import AT_WORK, WAITING, Lot
from service.persistence.quotes import quotes
from service.persistence.shop import TICKET_SERIES, counters
from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.pages import newest_first
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Document, Exact, Instant

cut_tickets = Table(
    "cut_tickets",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("serial", BigInteger, nullable=False),
    Column("quote_id", ID, ForeignKey("quotes.id"), nullable=False),
    Column("job", Integer, nullable=False),
    Column("jobs", Integer, nullable=False),
    Column("label", Text, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("minutes", Exact, nullable=False),
    Column("status", Text, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("document", Document, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("updated_at", Instant, nullable=False),
    Column("promised", Date, nullable=True),
    Column("shelf", Text, nullable=False, server_default=text("''")),
    Column("ready_at", Instant, nullable=True),
    Column("collected_at", Instant, nullable=True),
    Column("collected_by", Text, nullable=False, server_default=text("''")),
    UniqueConstraint("shop_id", "serial"),
    UniqueConstraint("quote_id", "job"),
    Index(None, "shop_id", "created_at", "id"),
    Index(None, "shop_id", "status", "created_at", "id"),
    Index(None, "shop_id", "updated_at", "id"),
)

# Lots of pieces: `piece` numbers them within each ticket, `cut_as` is the document's piece that
# they are cut as.
ticket_pieces = Table(
    "ticket_pieces",
    metadata,
    Column("ticket_id", ID, ForeignKey("cut_tickets.id"), primary_key=True),
    Column("piece", Integer, primary_key=True),
    Column("cut_as", Integer, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("status", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("recut_of", Integer, nullable=True),
    CheckConstraint("quantity > 0", name="some"),
)


_KEPT = tuple(column for column in cut_tickets.c if column.name != "document")
_HEAD = (*_KEPT, quotes.c.serial.label("quote_serial"), quotes.c.reference)
_HEADS = (
    select(*_HEAD)
    .join(quotes, quotes.c.id == cut_tickets.c.quote_id)
    .where(cut_tickets.c.shop_id == bindparam("shop_id"))
)
_WHOLE = _HEADS.add_columns(cut_tickets.c.document)
_BY_ID = _WHOLE.where(cut_tickets.c.id == bindparam("ticket_id"))
_BY_SERIAL = _WHOLE.where(cut_tickets.c.serial == bindparam("serial"))
_OF_QUOTE = _HEADS.where(cut_tickets.c.quote_id == bindparam("quote_id")).order_by(
    cut_tickets.c.job
)
_LOTS = (
    select(ticket_pieces)
    .where(ticket_pieces.c.ticket_id == bindparam("ticket_id"))
    .order_by(ticket_pieces.c.piece)
)
_MINUTES = select(cut_tickets.c.minutes).where(
    cut_tickets.c.shop_id == bindparam("shop_id"),
    cut_tickets.c.status.in_((WAITING, AT_WORK)),
)
_PROMISED = select(cut_tickets.c.promised, cut_tickets.c.minutes).where(
    cut_tickets.c.shop_id == bindparam("shop_id"),
    cut_tickets.c.status.in_((WAITING, AT_WORK)),
)
_NEXT = (
    update(counters)
    .where(counters.c.shop_id == bindparam("for_shop"), counters.c.series == TICKET_SERIES)
    .values(last_value=counters.c.last_value + bindparam("count"))
    .returning(counters.c.last_value)
)
_CHANGED = (
    *("status", "version", "updated_at"),
    *("shelf", "ready_at", "collected_at", "collected_by"),
)
"""The columns that a change of a ticket may set."""
_CHANGE = update(cut_tickets).where(
    cut_tickets.c.shop_id == bindparam("in_shop"),
    cut_tickets.c.id == bindparam("which"),
    cut_tickets.c.version == bindparam("seen"),
)


PLACES = 1_000
"""More than the jobs of a document: `job` holds the revision, if it changed the order, times this,
and the position of the job."""


class SqlCutTickets:
    """The SQL implementation of the `CutTickets` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def numbers(self, shop_id: str, count: int) -> range:
        """Return the shop's next serials.

        Raises:
            NotFound: there is no such shop.
        """
        values = {"for_shop": shop_id, "count": count}
        last = self._session.connection.execute(_NEXT, values).scalar()
        if last is None:
            raise NotFound("there is no such shop")
        return range(last - count + 1, last + 1)

    def add(self, tickets: Sequence[NewTicket], serials: range) -> None:
        """Store tickets of one quote under these serials."""
        rows = [_row(one, serial) for one, serial in zip(tickets, serials, strict=True)]
        self._session.connection.execute(insert(cut_tickets), rows)
        lots = [_lot_row(one.id, lot) for one in tickets for lot in one.lots]
        if lots:
            self._session.connection.execute(insert(ticket_pieces), lots)

    def by_id(self, shop_id: str, ticket_id: str) -> StoredTicket:
        """Return the ticket with this id.

        Raises:
            NotFound: the shop has none.
        """
        return self._stored(_BY_ID, {"shop_id": shop_id, "ticket_id": ticket_id}, "such ticket")

    def by_serial(self, shop_id: str, serial: int) -> StoredTicket:
        """Return the ticket with this serial.

        Raises:
            NotFound: the shop has none.
        """
        values = {"shop_id": shop_id, "serial": serial}
        return self._stored(_BY_SERIAL, values, "ticket of that number")

    def of_quote(self, shop_id: str, quote_id: str) -> tuple[TicketHead, ...]:
        """Return the tickets of a quote, in the order of its jobs."""
        values = {"shop_id": shop_id, "quote_id": quote_id}
        return tuple(_head(row) for row in self._session.connection.execute(_OF_QUOTE, values))

    def change(self, was: StoredTicket, now: TicketHead, lots: Sequence[Lot]) -> None:
        """Update a ticket's state and lots if it is unchanged.

        Raises:
            Stale: another transaction changed it meanwhile.
        """
        head = was.head
        values = {name: getattr(now, name) for name in _CHANGED}
        where = {"in_shop": head.shop_id, "which": head.id, "seen": head.version}
        changed = self._session.connection.execute(_CHANGE.values(**values), where)
        if changed.rowcount != 1:
            state = self.by_id(head.shop_id, head.id).head.status
            raise Stale(
                f"ticket {head.number} was changed by somebody else just now and is {state} by "
                "now; look again",
                facts={"state": state},
            )
        before = set(was.lots)
        rows = [_lot_row(head.id, lot) for lot in lots if lot not in before]
        self._session.upsert(ticket_pieces, rows)

    def renumber(self, head: TicketHead, job: int, jobs: int, promised: date | None) -> None:
        """Give a ticket of a changed order its new place in it, and its promised day."""
        mine = update(cut_tickets).where(cut_tickets.c.id == head.id)
        values = {"job": job, "jobs": jobs, "promised": promised}
        self._session.connection.execute(mine.values(values))

    def open_minutes(self, shop_id: str) -> Fraction:
        """Return the total minutes of tickets that are neither done nor withdrawn."""
        rows = self._session.connection.execute(_MINUTES, {"shop_id": shop_id}).scalars()
        return exact_sum(rows)

    def promised(self, shop_id: str) -> tuple[Promised, ...]:
        """Return the promised day and the minutes of each ticket that is neither done nor over."""
        rows = self._session.connection.execute(_PROMISED, {"shop_id": shop_id})
        return tuple((row.promised, row.minutes) for row in rows)

    def page(
        self, shop_id: str, wanted: TicketFilter, limit: int, after: Cursor | None = None
    ) -> TicketPage:
        """Return a page of tickets, newest first.

        Tickets added meanwhile never shift a later page.
        """
        statement = _filtered(wanted)
        rows, following = newest_first(
            self._session.connection, statement, cut_tickets, limit, after, {"shop_id": shop_id}
        )
        return TicketPage(tuple(_head(row) for row in rows), following)

    def open_ones(self, shop_id: str, most: int) -> tuple[StoredTicket, ...]:
        """Return up to `most` whole tickets that are waiting or in work, by their promised day.

        Those without one come last, and of one day the oldest first.
        """
        connection = self._session.connection
        still = cut_tickets.c.status.in_((WAITING, AT_WORK))
        rows = connection.execute(
            _WHOLE.where(still)
            .order_by(
                cut_tickets.c.promised.is_(None), cut_tickets.c.promised, cut_tickets.c.serial
            )
            .limit(most),
            {"shop_id": shop_id},
        ).all()
        lots: dict[str, list[Lot]] = {}
        of_these = (
            select(ticket_pieces)
            .join(cut_tickets, cut_tickets.c.id == ticket_pieces.c.ticket_id)
            .where(cut_tickets.c.shop_id == shop_id, still)
            .order_by(ticket_pieces.c.ticket_id, ticket_pieces.c.piece)
        )
        for row in connection.execute(of_these):
            lots.setdefault(row.ticket_id, []).append(_lot(row))
        return tuple(
            StoredTicket(_head(row), row.document, tuple(lots.get(row.id, ()))) for row in rows
        )

    def _stored(self, statement: Any, values: dict[str, Any], what: str) -> StoredTicket:
        connection = self._session.connection
        row = found(connection.execute(statement, values).one_or_none(), what)
        lots = tuple(_lot(lot) for lot in connection.execute(_LOTS, {"ticket_id": row.id}))
        return StoredTicket(_head(row), row.document, lots)


def _filtered(wanted: TicketFilter) -> Select[Any]:
    statement = _HEADS
    for column, compare, value in (
        (cut_tickets.c.status, eq, wanted.status),
        (cut_tickets.c.quote_id, eq, wanted.quote_id),
        (quotes.c.serial, eq, wanted.quote_serial),
        (cut_tickets.c.updated_at, ge, wanted.updated_since),
    ):
        if value is not None:
            statement = statement.where(compare(column, value))
    return statement


def _head(row: Row[Any]) -> TicketHead:
    names = (*(column.name for column in _KEPT), "quote_serial", "reference")
    values = {name: getattr(row, name) for name in names}
    return TicketHead(**{**values, "job": row.job % PLACES})


def _lot(row: Row[Any]) -> Lot:
    return Lot(
        number=row.piece,
        like=row.cut_as,
        quantity=row.quantity,
        status=row.status,
        reason=row.reason,
        recut_of=row.recut_of,
    )


def _row(new: NewTicket, serial: int) -> dict[str, Any]:
    return {
        "id": new.id,
        "shop_id": new.shop_id,
        "serial": serial,
        "quote_id": new.quote_id,
        "job": new.job,
        "jobs": new.jobs,
        "label": new.label,
        "quantity": new.quantity,
        "minutes": new.minutes,
        "status": WAITING,
        "version": 1,
        "document": new.document,
        "created_at": new.created_at,
        "updated_at": new.created_at,
        "promised": new.promised,
        "shelf": "",
        "collected_by": "",
    }


def _lot_row(ticket_id: str, lot: Lot) -> dict[str, Any]:
    return {
        "ticket_id": ticket_id,
        "piece": lot.number,
        "cut_as": lot.like,
        "quantity": lot.quantity,
        "status": lot.status,
        "reason": lot.reason,
        "recut_of": lot.recut_of,
    }
