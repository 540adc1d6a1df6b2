"""What the queue and the thread need of whoever makes a plan, and what both offer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, Self


class PlanWork(Protocol):
    """Makes stored plans."""

    def __call__(self, shop_id: str, plan_id: str) -> None:
        """Make a plan unless somebody else works on it."""
        ...

    def orphans(self) -> tuple[tuple[str, str], ...]:
        """Return the plans that wait and that nobody works on: shop id and plan id."""
        ...

    def until(self, stopping: Callable[[], bool]) -> Self:
        """Return the same work, which lets go of a plan once `stopping` returns True."""
        ...
