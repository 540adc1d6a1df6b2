"""Why a ticket is not made."""

from __future__ import annotations

from collections.abc import Iterable

from service.domain.errors import DomainError, Fault
from service.domain.jobs.advice.advisory import Advisory


class TicketRefused(DomainError):
    """A job with a `stop` advisory: it may be quoted but must not go to the bench."""

    code = "ticket_refused"

    def __init__(self, stops: Iterable[Advisory]) -> None:
        self._faults = tuple(Fault(stop.pointer, stop.code, stop.message) for stop in stops)
        first = self._faults[0]
        super().__init__(f"no ticket can be made: {first.detail}", first.pointer)

    def faults(self) -> tuple[Fault, ...]:
        """Every reason, with its place in the job."""
        return self._faults


class TicketNotProved(DomainError):
    """A ticket whose cuts, laid on a blank, do not give what was ordered: a fault of ours."""

    code = "ticket_not_proved"
