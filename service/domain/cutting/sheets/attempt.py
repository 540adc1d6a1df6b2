"""One attempt at a sheet plan: fill, price, build, choose.

Greedy fillings give a first plan and first patterns; an LP over the patterns prices the pieces; new
patterns are built at these prices until none helps; a restricted MIP chooses whole sheets. Every
limit is a count, so the plan does not depend on how busy the machine is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from service.domain.cutting.patterns.choice import Choice, cheapest
from service.domain.cutting.patterns.master import Floats, Master, Pattern, Prices, Task
from service.domain.cutting.sheets.blocks import Beam, Builder
from service.domain.cutting.sheets.fill import greedy_plan
from service.domain.cutting.sheets.kinds import Sheets
from service.domain.value import dataclass

_KEPT = 25


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to try: counts of everything the search does."""

    fills: int
    rounds: int
    shaken: int
    pool: int
    nodes: int
    beam: Beam


@dataclass(frozen=True, slots=True)
class Attempt:
    """The best greedy plan for a task, the prices of its LP, and the patterns that came up."""

    choice: Choice
    prices: Prices
    patterns: list[Pattern]


def price(sheets: Sheets, effort: Effort, known: Sequence[Pattern], seed: int) -> Attempt:
    """Fill greedily, then generate patterns until the LP over them settles."""
    task = sheets.task
    master = Master(task)
    for pattern in known:
        master.add(pattern)
    best = Choice(())
    for turn in range(effort.fills):
        choice, tried = greedy_plan(sheets, task.demands, 0 if turn == 0 else seed + turn)
        for pattern in tried:
            master.add(pattern)
        best = min(best, choice, key=lambda c: c.rank(task)[0])
    prices = generate(sheets, effort, master, seed)
    return Attempt(best, prices, master.patterns)


def choose(
    task: Task, patterns: Sequence[Pattern], prices: Prices, best: Choice, effort: Effort
) -> Choice:
    """The cheapest whole patterns by the restricted MIP, or `best`."""
    pool = _promising(task, patterns, prices, best, effort.pool)
    return cheapest(task, pool, best, effort.nodes)


def attempt(
    sheets: Sheets, effort: Effort, known: Sequence[Pattern], floor: int, seed: int
) -> Attempt:
    """Price a task and choose; stop early at a cost of `floor`."""
    found = price(sheets, effort, known, seed)
    task = sheets.task
    if found.choice.rank(task)[0] <= max(floor, found.prices.value - 1e-6):
        return found
    best = choose(task, found.patterns, found.prices, found.choice, effort)
    return replace(found, choice=best)


def generate(sheets: Sheets, effort: Effort, master: Master, seed: int) -> Prices:
    """Add patterns to the LP until none helps, then some for prices near the last."""
    if all(limit == 0 for limit in sheets.task.limits):
        return master.solve()
    builder = Builder(sheets, sheets.task.demands, effort.beam)
    rng = np.random.default_rng(seed + 1)
    prices = master.solve()
    shaken = 0
    for _ in range(effort.rounds):
        added = _add_best(sheets, builder, master, prices, prices.pieces)
        if not added:
            if shaken == effort.shaken:
                break
            shaken += 1
            # The LP is settled: prices a little off it give patterns that whole plans may need.
            noise = 1 + 0.15 * (rng.random(len(prices.pieces)) - 0.5)
            _add_best(sheets, builder, master, prices, prices.pieces * noise)
        prices = master.solve()
    return prices


def _add_best(sheets: Sheets, builder: Builder, master: Master, prices: Prices, at: Floats) -> int:
    builder.build(at)
    useful = 0
    for s, cost in enumerate(sheets.task.costs):
        if sheets.task.limits[s] == 0:
            continue
        for _, counts, block in builder.patterns(s)[:_KEPT]:
            fresh = master.add(Pattern(s, counts, block))
            worth = float(np.dot(counts, prices.pieces))
            useful += fresh and worth > cost + prices.rents[s] + 1e-6
    return useful


def _promising(
    task: Task, patterns: Sequence[Pattern], prices: Prices, best: Choice, most: int
) -> list[Pattern]:
    """Patterns that a cheaper plan could use, by reduced cost; at most so many."""
    gap = best.rank(task)[0] - prices.value
    counts = np.array([p.counts for p in patterns])
    stock = np.array([p.stock for p in patterns])
    costs = np.array(task.costs, dtype=float)
    reduced = (costs + prices.rents)[stock] - counts @ prices.pieces
    order = np.lexsort((np.arange(len(patterns)), np.round(reduced, 6)))
    near = [patterns[j] for j in order.tolist() if reduced[j] < gap][:most]
    return list(dict.fromkeys([*(p for p, _ in best.uses), *near]))
