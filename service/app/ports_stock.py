"""What the service holds and what waits, over all shops: figures for those who run it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Stock:
    """How much there is; no shop and no customer can be told from it.

    Args:
        stored: how many of each series were ever stored, such as quotes.
        waiting: how many bench tickets there are in each state that is not final.
    """

    stored: Mapping[str, int]
    waiting: Mapping[str, int]


class StockCount(Protocol):
    """Counts over all shops."""

    def now(self) -> Stock:
        """The present figures; cheap at any size of the database."""
        ...
