"""Equal costs told apart: the largest offcut worth keeping, all such offcuts, then fewest cuts.

The pattern with the largest offcut is the crown. Crowns are tried from the largest down: the LP
says at once whether a plan of the same cost can hold one, and a small MIP then looks for that plan.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.domain.cutting.patterns.choice import gathered, within_cost
from service.domain.cutting.patterns.master import Master, Pattern, Task
from service.domain.cutting.patterns.pool import rest_of

_CROWNS = 40
_TRIES = 2
_NODES = 1


def crowned(
    task: Task,
    start: list[Pattern],
    pool: Sequence[Pattern],
    crowns: Sequence[Pattern],
    unit: int,
    cut_down: Callable[[list[Pattern]], list[Pattern]],
) -> list[Pattern]:
    """A plan of the start's cost with a larger offcut, or the start.

    Args:
        task: what is wanted.
        start: the patterns of a plan, one by one, with nothing made too often.
        pool: patterns to make plans of, their offcuts worked out.
        crowns: patterns that may hold the largest offcut.
        unit: the size of the largest stock, which keeps the MIP's floats small.
        cut_down: leaves out of a plan what it makes too often.
    """
    cost = gathered(start).rank(task)[0]
    largest = max(p.largest for p in start)
    field = list(dict.fromkeys([*start, *pool]))
    master = Master(task)
    for pattern in field:
        master.add(pattern)
    best, tries = start, 0
    for crown in sorted(crowns, key=lambda p: (-p.largest, p.stock, p.counts))[:_CROWNS]:
        if crown.largest <= largest or tries == _TRIES:
            break
        if task.limits[crown.stock] == 0:
            continue
        rest, room = rest_of(task, [crown]), cost - task.costs[crown.stock]
        master.retarget(rest.demands, rest.limits)
        if master.solve().value > room + 1e-6:
            continue
        tries += 1
        found = within_cost(rest, field, room, _NODES, unit)
        if found.rank(rest)[0] <= room:
            plan = [crown, *(p for p, times in found.uses for _ in range(times))]
            best = min(best, cut_down(plan), key=lambda plan: gathered(plan).rank(task))
    return best
