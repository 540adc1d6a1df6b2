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

    def drafts_since(self, shop_id: str, since: datetime, most: int) -> int:
        """How many quotes stored since then are drafts still, counted up to `most`."""
        ...
