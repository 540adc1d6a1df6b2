"""What the use cases need to know of how much a shop has."""

from __future__ import annotations

from datetime import datetime
from typing import Literal, Protocol

Growing = Literal["items", "price_lists", "labour_standards", "offcuts", "waiting_plans"]


class Sizes(Protocol):
    """How much a shop has."""

    def of(self, shop_id: str, what: Growing, most: int) -> int:
        """How many there are, counted up to `most` and no further."""
        ...

    def count_draft(self, key_id: str, now: datetime, bytes_: int, a_day: int) -> bool:
        """Count the bytes of a draft that a key leaves.

        Returns:
            whether it was counted; not, where it is more than is left of `a_day` bytes a day,
            which the key earns back steadily.
        """
        ...

    def drafts_since(self, shop_id: str, since: datetime, most: int) -> int:
        """How many quotes stored since then are drafts still, counted up to `most`."""
        ...
