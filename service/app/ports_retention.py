"""What keeping only what is needed asks of storage: old rows chosen and forgotten in batches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Protocol

from schemas.events.records_events import StoredEvent
from service.persistence.retention.records import QuoteSeen, WholeQuote


class Retention(Protocol):
    """Chooses and forgets, within the unit of work; what forgets says how many it were."""

    def unsold(
        self, shop_id: str, before: datetime, now: datetime, most: int
    ) -> tuple[QuoteSeen, ...]:
        """Quotes that were never accepted, unchanged since then."""
        ...

    def whole(self, shop_id: str, seen: Sequence[QuoteSeen]) -> Iterator[WholeQuote]:
        """These quotes with all their revisions, some of them at a time."""
        ...

    def drop_quotes(self, shop_id: str, seen: Sequence[QuoteSeen]) -> int:
        """Erase those of these quotes that nobody has changed since, with all their revisions."""
        ...

    def events(self, shop_id: str, before: datetime, most: int) -> tuple[StoredEvent, ...]:
        """Events older than that which every active webhook has read, the oldest first."""
        ...

    def drop_events(self, shop_id: str, ids: Sequence[int]) -> int:
        """Erase these events."""
        ...

    def answers(self, before: datetime, most: int) -> int:
        """Answers kept for requests sent again that expired by then, of all shops."""
        ...

    def keys(self, shop_id: str, before: datetime, most: int) -> int:
        """Keys that were out of force by then; the events still name them."""
        ...

    def customers(self, shop_id: str, sold_before: datetime, most: int) -> tuple[str, ...]:
        """The ids of quotes unchanged since then that name a customer still."""
        ...

    def of_customer(self, shop_id: str, email: str) -> tuple[str, ...]:
        """The ids of all quotes of a customer with this address, in any spelling of case."""
        ...

    def forget_customer(self, shop_id: str, quote_ids: Iterable[str]) -> int:
        """Take the customer out of these quotes, and out of what was sent for them."""
        ...

    def forget_answers(self, shop_id: str, email: str) -> int:
        """Forget answers that are kept for requests sent again and have this address in them."""
        ...
