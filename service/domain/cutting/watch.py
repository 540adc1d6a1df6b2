"""Letting a caller follow a long plan, and stop it."""

from __future__ import annotations

from collections.abc import Callable

from service.domain.errors import DomainError
from service.domain.value import dataclass


class PlanCancelled(DomainError):
    """The caller asked for the planning to stop before it was done."""

    code = "plan_cancelled"


def _ignore(done: int, total: int) -> None:
    """Nobody is listening."""


def _never() -> bool:
    return False


@dataclass(frozen=True, slots=True)
class Watch:
    """Two hooks: `on_progress(done, total)` after each step, `cancelled()` before the next.

    Steps are counted, not timed: the same plan reports the same steps on any machine.
    """

    on_progress: Callable[[int, int], None] = _ignore
    cancelled: Callable[[], bool] = _never

    def step(self, done: int, total: int) -> None:
        """Report a step.

        Raises:
            PlanCancelled: `cancelled()` says so.
        """
        self.on_progress(min(done, total), total)
        if self.cancelled():
            raise PlanCancelled(f"the cutting plan was stopped at step {done} of {total}")
