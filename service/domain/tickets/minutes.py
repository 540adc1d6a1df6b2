"""Distributes the quote's minutes over the ticket's steps: same operations, same exact sum."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.labour.standard import OperationTime
from service.domain.tickets.instructions import Share
from service.domain.tickets.steps.draft import Draft


def other_work(times: Sequence[OperationTime], drafts: Sequence[Draft]) -> list[Draft]:
    """Return steps for operations without a step of their own: a shop may time anything."""
    known = {driver for draft in drafts for driver, weight in draft.drives.items() if weight}
    return [
        Draft(
            "last",
            "other",
            lines=tuple(f"Other work: {description}." for description in descriptions),
            drives={driver: 1},
        )
        for driver, descriptions in _by_driver(times).items()
        if driver not in known
    ]


def _by_driver(times: Sequence[OperationTime]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for time in times:
        found.setdefault(time.operation.driver, []).append(time.operation.description)
    return found


def shares(times: Sequence[OperationTime], steps: Sequence[Draft]) -> list[tuple[Share, ...]]:
    """Return, for each step in order, its part of each operation.

    An operation's set-up goes to the first step that needs it; the rest is distributed by the units
    of each step, in integer parts whose running sums are rounded down, so nothing is lost.
    """
    found: list[list[Share]] = [[] for _ in steps]
    for time in times:
        places = [
            (place, draft.drives[time.operation.driver])
            for place, draft in enumerate(steps)
            if draft.drives.get(time.operation.driver)
        ]
        weight = sum(units for _, units in places)
        set_up = time.operation.set_up_minutes
        set_up_parts = set_up.numerator * (time.per // set_up.denominator)
        rest, reached, given = time.parts - set_up_parts, 0, 0
        for place, units in places:
            reached += units
            upto = rest * reached // weight
            parts, given = upto - given, upto
            if place == places[0][0]:
                parts += set_up_parts
            found[place].append(Share(time.operation.code, parts, time.per))
    return [tuple(share) for share in found]
