"""What the use cases need of the stored bench tickets."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Protocol

from schemas.quotes.records import Cursor
from schemas.tickets.records import NewTicket, StoredTicket, TicketFilter, TicketHead, TicketPage
from service.domain.tickets.progress import Lot


class CutTickets(Protocol):
    """The stored bench tickets."""

    def numbers(self, shop_id: str, count: int) -> range:
        """The shop's next serials. Whoever has them goes first until the unit of work is over."""
        ...

    def add(self, tickets: Sequence[NewTicket], serials: range) -> None:
        """Store tickets of one quote under these serials."""
        ...

    def by_id(self, shop_id: str, ticket_id: str) -> StoredTicket:
        """The ticket with this id. NotFound where the shop has none."""
        ...

    def by_serial(self, shop_id: str, serial: int) -> StoredTicket:
        """The ticket with this serial. NotFound where the shop has none."""
        ...

    def of_quote(self, shop_id: str, quote_id: str) -> tuple[TicketHead, ...]:
        """The tickets of a quote, in the order of its jobs."""
        ...

    def change(self, was: StoredTicket, now: TicketHead, lots: Sequence[Lot]) -> None:
        """Store a ticket's state and its lots anew. Stale where somebody changed it meanwhile."""
        ...

    def open_minutes(self, shop_id: str) -> Fraction:
        """The minutes of every ticket that is neither done nor withdrawn."""
        ...

    def page(
        self, shop_id: str, wanted: TicketFilter, limit: int, after: Cursor | None = None
    ) -> TicketPage:
        """Newest first; tickets that arrive meanwhile never shift a later page."""
        ...

    def open_ones(self, shop_id: str, most: int) -> tuple[StoredTicket, ...]:
        """Whole tickets that are waiting or in work, the oldest first, up to so many."""
        ...
