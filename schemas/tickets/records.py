"""Bench tickets as stored: a document written once, and the progress at the bench."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction

from schemas.wire.page import Cursor
from service.domain.measure.length import Length
from service.domain.quotes.numbers import quote_number, ticket_number
from service.domain.tickets.handover import handed_over
from service.domain.tickets.progress import Lot


@dataclass(frozen=True, slots=True, kw_only=True)
class NewTicket:
    """A ticket to be stored; storing it assigns its number.

    `job` is the index of its job in the quote, from 0, of `jobs`. `document` is JSON.
    """

    id: str
    shop_id: str
    quote_id: str
    job: int
    jobs: int
    label: str
    quantity: int
    minutes: Fraction
    document: bytes
    lots: tuple[Lot, ...]
    created_at: datetime
    promised: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketHead:
    """A stored ticket without its document. `quote_serial` and `reference` are its quote's.

    `shelf` is where it stands once it is ready, `collected_by` who took it along.
    """

    id: str
    shop_id: str
    serial: int
    quote_id: str
    quote_serial: int
    reference: str
    job: int
    jobs: int
    label: str
    quantity: int
    minutes: Fraction
    status: str
    version: int
    created_at: datetime
    updated_at: datetime
    promised: date | None
    shelf: str = ""
    ready_at: datetime | None = None
    collected_at: datetime | None = None
    collected_by: str = ""

    @property
    def state(self) -> str:
        """How far it is, to the end: its own status, or `ready`, or `collected`."""
        return handed_over(
            self.status, ready=self.ready_at is not None, collected=self.collected_at is not None
        )

    @property
    def number(self) -> str:
        """The printed number: T, the serial, a check digit."""
        return ticket_number(self.serial)

    @property
    def quote_number(self) -> str:
        """The number of its quote."""
        return quote_number(self.quote_serial)


@dataclass(frozen=True, slots=True)
class StoredTicket:
    """A ticket, the bytes of its document, and its lots in order."""

    head: TicketHead
    document: bytes
    lots: tuple[Lot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketFilter:
    """The tickets that a list shows."""

    status: str | None = None
    quote_id: str | None = None
    quote_serial: int | None = None
    updated_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class TicketPage:
    """A page of a list; `after` is the cursor of the next page, None on the last."""

    heads: tuple[TicketHead, ...]
    after: Cursor | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeTicket:
    """A ticket made before any storage access: one job's document and lots."""

    label: str
    quantity: int
    minutes: Fraction
    document: bytes
    lots: tuple[Lot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NewSpoilage:
    """Spoiled pieces: lot `piece` of a ticket.

    `height` is zero for a rail. `cost_minor` is the cost of their material, in minor units of the
    shop's currency; None if unknown.
    """

    shop_id: str
    ticket_id: str
    piece: int
    at: datetime
    item: str
    part: str
    quantity: int
    width: Length
    height: Length
    cost_minor: int | None
    currency: str
    reason: str


@dataclass(frozen=True, slots=True)
class StoredSpoilage:
    """Spoiled pieces, with the serials of their ticket and its quote."""

    spoilage: NewSpoilage
    ticket_serial: int
    quote_serial: int
