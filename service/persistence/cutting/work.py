"""The interface between the plan maker and the queue or thread that calls it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, Self


class PlanWork(Protocol):
    """Makes stored plans, as the queue and the thread call it."""

    def __call__(self, shop_id: str, plan_id: str) -> None:
        """Make a plan unless another worker has it."""
        ...

    def orphans(self) -> tuple[tuple[str, str], ...]:
        """Return the shop id and plan id of waiting plans that nobody works on."""
        ...

    def until(self, stopping: Callable[[], bool]) -> Self:
        """Return the same work, but releasing a plan once `stopping` returns True."""
        ...
