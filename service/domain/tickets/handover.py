"""What happens to finished work: it stands on the shelf and is collected, ticket by ticket.

    done -> ready -> collected

A ticket's own state stays `done`, so that programs that know no later one go on; the steps after
it are told beside. Work may be collected straight from the bench.
"""

from __future__ import annotations

from collections.abc import Iterable

from service.domain.states import Life
from service.domain.tickets.progress import FINISHED, TAKEN_BACK, TICKET_LIFE

READY = "ready"
"""All of it is done and stands on the shelf."""
PARTLY = "partly_collected"
"""Some of its tickets are collected."""
COLLECTED = "collected"
"""The customer has all of it."""
HANDOVERS = [READY, PARTLY, COLLECTED]
HANDOVER = Life(
    "ticket",
    {
        **TICKET_LIFE.moves,
        FINISHED: {"shelve": READY, "collect": COLLECTED},
        READY: {"shelve": READY, "collect": COLLECTED},
        COLLECTED: {},
    },
)
"""A ticket's states to the end. What stands on the shelf may be moved to another place on it."""


def handed_over(status: str, *, ready: bool, collected: bool) -> str:
    """Return how far a ticket is: its own state, or the step after it."""
    if collected:
        return COLLECTED
    return READY if ready and status == FINISHED else status


def handover_of(tickets: Iterable[str]) -> str:
    """Return how far a quote's tickets are together; empty before any of them is handed over.

    >>> handover_of(["ready", "done"]), handover_of(["ready", "ready", "withdrawn"])
    ('', 'ready')
    >>> handover_of(["collected", "in_work"]), handover_of(["collected", "collected"])
    ('partly_collected', 'collected')
    """
    states = {state for state in tickets if state != TAKEN_BACK}
    if COLLECTED in states:
        return PARTLY if states - {COLLECTED} else COLLECTED
    return READY if states == {READY} else ""
