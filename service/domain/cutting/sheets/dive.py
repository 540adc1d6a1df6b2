"""Rounding the LP into a plan, sheet by sheet, with new patterns for what is still wanted.

Patterns that the LP uses a whole number of times are taken for good; where there is none, one that
it uses much is. The rest is a smaller task with its own prices and its own patterns: those of the
whole no longer fit it well.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.patterns.choice import Choice, gathered
from service.domain.cutting.patterns.master import Floats, Master, Pattern, Prices, Task
from service.domain.cutting.patterns.pool import Pool, rest_of
from service.domain.cutting.sheets.attempt import Effort, generate
from service.domain.cutting.sheets.blocks import Beam
from service.domain.cutting.sheets.fill import greedy_plan
from service.domain.cutting.sheets.kinds import Sheets

_STEP = Effort(fills=0, rounds=1, shaken=0, pool=0, nodes=0, beam=Beam(200, 3, 20))
_HALF = 0.5
_AT_ONCE = 12
_NEAR = 800


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
        noise = rng.random(len(prices.uses)) if seed else np.zeros(len(prices.uses))
        chosen = _round(master.patterns, prices, noise, task)
        if not chosen:
            break
        fixed += chosen
        rest = rest_of(task, chosen)
        if any(rest.demands):
            master, prices = _price_again(sheets, rest, _near(master.patterns, prices, task))
            for pattern in master.patterns:
                pool.add(pattern)
        task = rest
    return gathered(fixed)


def _round(patterns: list[Pattern], prices: Prices, noise: Floats, task: Task) -> list[Pattern]:
    uses = prices.uses
    whole = [(patterns[j], int(uses[j] + 1e-6)) for j in np.flatnonzero(uses > 1 - 1e-6).tolist()]
    if whole:
        return [pattern for pattern, times in whole for _ in range(times)]
    # One pattern, or in a large task a few that do not stand in each other's way.
    liking = np.round(uses * (1 + _HALF * noise), 6)
    left, limits = np.array(task.demands), list(task.limits)
    chosen: list[Pattern] = []
    for j in np.argsort(-liking, kind="stable").tolist():
        if uses[j] < 1e-6 or len(chosen) >= max(1.0, uses.sum() / _AT_ONCE):
            break
        pattern = patterns[j]
        limit = limits[pattern.stock]
        if limit == 0 or (np.array(pattern.counts) > left).any():
            continue
        chosen.append(pattern)
        left -= np.array(pattern.counts)
        limits[pattern.stock] = None if limit is None else limit - 1
    return chosen


def _near(patterns: list[Pattern], prices: Prices, task: Task) -> list[Pattern]:
    """Patterns near enough to the LP's prices to be of use further down."""
    counts = np.array([p.counts for p in patterns])
    stock = np.array([p.stock for p in patterns])
    costs = (np.array(task.costs, dtype=float) + prices.rents)[stock]
    reduced = costs - counts @ prices.pieces
    near = np.argsort(np.round(reduced, 6), kind="stable")[:_NEAR]
    return [patterns[j] for j in np.sort(near).tolist()]


def _price_again(sheets: Sheets, task: Task, known: list[Pattern]) -> tuple[Master, Prices]:
    part = replace(sheets, task=task)
    master = Master(task)
    counts = np.array([p.counts for p in known])
    fits: NDArray[np.bool_] = np.all(counts <= np.array(task.demands), axis=1)
    for pattern, good in zip(known, fits.tolist(), strict=True):
        if good and task.limits[pattern.stock] != 0:
            master.add(pattern)
    for pattern in greedy_plan(part, task.demands, 0)[1]:
        master.add(pattern)
    return master, generate(part, _STEP, master, 0)
