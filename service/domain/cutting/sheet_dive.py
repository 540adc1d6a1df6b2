"""Rounding the LP into a plan, sheet by sheet, with new patterns for what is still wanted.

Patterns that the LP uses a whole number of times are taken for good; where there is none, one that
it uses much is. The rest is a smaller task with its own prices and its own patterns: those of the
whole no longer fit it well.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.domain.cutting.choice import Choice, gathered
from service.domain.cutting.master import Master, Pattern, Prices, Task
from service.domain.cutting.pool import Pool, rest_of
from service.domain.cutting.sheet_attempt import Effort, generate
from service.domain.cutting.sheet_blocks import Beam
from service.domain.cutting.sheet_fill import greedy_plan
from service.domain.cutting.sheet_kinds import Sheets

_STEP = Effort(fills=0, rounds=1, shaken=0, pool=0, nodes=0, beam=Beam(200, 3, 20))
_HALF = 0.5


def dive(sheets: Sheets, pool: Pool, seed: int) -> Choice:
    """A plan by rounding; every pattern met on the way joins the pool."""
    task = sheets.task
    rng = np.random.default_rng(seed)
    master = Master(task)
    for pattern in pool.within(task):
        master.add(pattern)
    prices = master.solve()
    fixed: list[Pattern] = []
    while any(task.demands):
        chosen = _round(master.patterns, prices, rng.random(len(prices.uses)) if seed else None)
        if not chosen:
            break
        fixed += chosen
        task = rest_of(task, chosen)
        if any(task.demands):
            master, prices = _price_again(sheets, task, pool)
    return gathered(fixed)


def _round(
    patterns: list[Pattern],
    prices: Prices,
    noise: np.ndarray | None,  # type: ignore[type-arg]
) -> list[Pattern]:
    uses = prices.uses
    whole = [(patterns[j], int(uses[j] + 1e-6)) for j in np.flatnonzero(uses > 1 - 1e-6).tolist()]
    if whole:
        return [pattern for pattern, times in whole for _ in range(times)]
    if not len(uses) or uses.max() < 1e-6:
        return []
    liking = uses if noise is None else uses * (1 + _HALF * noise)
    return [patterns[int(np.round(liking, 6).argmax())]]


def _price_again(sheets: Sheets, task: Task, pool: Pool) -> tuple[Master, Prices]:
    part = replace(sheets, task=task)
    master = Master(task)
    for pattern in pool.within(task):
        master.add(pattern)
    for pattern in greedy_plan(part, task.demands, 0)[1]:
        master.add(pattern)
    prices = generate(part, _STEP, master, 0)
    for pattern in master.patterns:
        pool.add(pattern)
    return master, prices
