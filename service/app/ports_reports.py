"""What reports need of storage: where facts are noted, and sums over them.

Every sum is over the facts of its own periods, found by an index, and is made by the database. What
had not happened yet at `as_of` does not count.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Protocol

from schemas.reports.facts import (
    Bucket,
    MadeSum,
    MaterialSum,
    NewSale,
    NewSpoilage,
    PartSum,
    SoldSum,
    StoredSpoilage,
    WorkRow,
)


class Facts(Protocol):
    """Where facts are noted, in the unit of work in which they happen."""

    def sold(self, new: NewSale) -> None:
        """Note a sale."""
        ...

    def taken_back(self, quote_id: str, at: datetime) -> None:
        """Note that a sale was taken back."""
        ...

    def spoiled(self, new: NewSpoilage) -> None:
        """Note spoiled pieces."""
        ...


class Figures(Protocol):
    """Sums over facts."""

    def made(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime, today: date
    ) -> tuple[MadeSum, ...]:
        """Quotes by when they were made; states are those of `today`, the shop's day at `as_of`."""
        ...

    def sold(self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime) -> tuple[SoldSum, ...]:
        """Quotes by when they were accepted; those taken back by `as_of` do not count."""
        ...

    def parts(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime, *, items: bool
    ) -> tuple[PartSum, ...]:
        """The same by component; with `items` by item too."""
        ...

    def materials(
        self, shop_id: str, buckets: Sequence[Bucket], as_of: datetime
    ) -> tuple[MaterialSum, ...]:
        """What the same quotes use, in the order of the items' codes."""
        ...

    def spoiled(self, shop_id: str, start: datetime, end: datetime) -> tuple[StoredSpoilage, ...]:
        """Spoiled pieces, the first ones first."""
        ...

    def open_work(self, shop_id: str, as_of: datetime) -> tuple[WorkRow, ...]:
        """Tickets that were waiting or in work at `as_of`, by promised day."""
        ...

    def done_work(self, shop_id: str, start: datetime, end: datetime) -> tuple[WorkRow, ...]:
        """Tickets that were finished meanwhile."""
        ...
