"""What the use cases need for the instants of changes."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol

OF_QUOTES, OF_ITEMS = "quote", "item"
"""What changes: a shop's quotes, with their tickets; the items of its catalogue."""


class Instants(Protocol):
    """Instants of changes that are in the order in which the changes are kept.

    Each shop has them for its `OF_QUOTES` and for its `OF_ITEMS`.
    """

    def turn(self, shop_id: str, of: str, at: datetime) -> datetime:
        """Wait until nobody else changes such things of the shop, and take the instant of a change.

        That is `at`, or the instant of the last change where it is later. It is taken before
        anything else is held, always.
        """
        ...

    def last(self, shop_id: str, of: str) -> datetime | None:
        """The instant of the last change that can be seen; none that comes is earlier."""
        ...
