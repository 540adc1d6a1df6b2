"""Sheets of equal cost told apart by what they leave and how many cuts they take.

Whatever a plan makes too often is left on the sheet. So each sheet is cut down to what is needed,
laid out for its offcuts, and sheets with few pieces (which leave the most) join the choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from service.domain.cutting.patterns.choice import Choice, gathered
from service.domain.cutting.patterns.master import Master, Pattern
from service.domain.cutting.patterns.ties import crowned
from service.domain.cutting.sheets.fill import Filler
from service.domain.cutting.sheets.kinds import Block, Sheets, count_kinds
from service.domain.cutting.sheets.layout import Layouts, scored_blocks, without

_NEAR = 2_000
_MOST_SHEETS = 60
_REFILLS = 24
_REFILLED = 8


def settle_ties(sheets: Sheets, best: Choice, pool: Sequence[Pattern]) -> Choice:
    """The best plan of the same cost, every sheet laid out and holding only what is wanted."""
    layouts = Layouts(sheets)
    start = cut_down(layouts, best)
    if 0 < len(start) <= _MOST_SHEETS:
        start = _crown(layouts, start, pool)
    return gathered(_refill(layouts, start))


def _crown(layouts: Layouts, start: list[Pattern], pool: Sequence[Pattern]) -> list[Pattern]:
    sheets = layouts.sheets
    cost = gathered(start).rank(sheets.task)[0]
    near = _near(sheets, pool, cost, max(60, _NEAR // len(sheets.task.demands)))
    ranked = [ranked_pattern(layouts, p.stock, _block(p)) for p in near]
    crowns = list(dict.fromkeys([*ranked, *_singles(layouts)]))
    unit = max(w * h for w, h in sheets.stock)

    def smaller(plan: list[Pattern]) -> list[Pattern]:
        return cut_down(layouts, gathered(plan))

    return crowned(sheets.task, start, ranked, crowns, unit, smaller)


def _singles(layouts: Layouts) -> list[Pattern]:
    """A piece alone on a sheet: what leaves the most."""
    sheets = layouts.sheets
    return [
        ranked_pattern(layouts, s, [way.leaf()])
        for s in range(len(sheets.stock))
        for way in sheets.ways(sheets.task.demands)
        if sheets.takes(s, way.w, way.h) and sheets.task.limits[s] != 0
    ]


def _block(pattern: Pattern) -> list[Block]:
    return [pattern.form] if isinstance(pattern.form, Block) else []


def ranked_pattern(layouts: Layouts, stock: int, blocks: Sequence[Block]) -> Pattern:
    """The pattern of a block on a sheet, laid out at its best."""
    scored = scored_blocks(layouts, stock, blocks)
    kinds = len(layouts.sheets.sizes)
    counts = count_kinds(blocks[0], kinds) if blocks else (0,) * kinds
    form = blocks[0] if blocks else None
    return Pattern(stock, counts, form, scored.largest, scored.total, scored.cuts)


def _near(sheets: Sheets, pool: Sequence[Pattern], cost: int, most: int) -> list[Pattern]:
    """Patterns that a plan of this cost can use at all, by reduced cost."""
    task = sheets.task
    master = Master(task)
    for pattern in pool:
        master.add(pattern)
    prices = master.solve()
    gap = cost - prices.value + 1e-6
    counts = np.array([p.counts for p in pool])
    stock = np.array([p.stock for p in pool])
    costs = np.array(task.costs, dtype=float) + prices.rents
    reduced = costs[stock] - counts @ prices.pieces
    order = np.lexsort((np.arange(len(pool)), np.round(reduced, 6)))
    return [pool[j] for j in order.tolist() if reduced[j] <= gap][:most]


def cut_down(layouts: Layouts, choice: Choice) -> list[Pattern]:
    """The sheets one by one, what is made too often left out where the offcut is largest."""
    task = layouts.sheets.task
    surplus = [
        max(0, m - d) for m, d in zip(choice.made(len(task.demands)), task.demands, strict=True)
    ]
    plan = [
        ranked_pattern(layouts, p.stock, _block(p))
        for p, times in choice.uses
        for _ in range(times)
    ]
    plan.sort(key=lambda p: (-p.largest, sum(p.counts), p.counts))
    smaller = []
    for pattern in plan:
        drop = [min(n, s) for n, s in zip(pattern.counts, surplus, strict=True)]
        if any(drop):
            surplus = [s - n for s, n in zip(surplus, drop, strict=True)]
            left = without(_block(pattern)[0], drop)
            if left:
                smaller.append(ranked_pattern(layouts, pattern.stock, left))
        elif any(pattern.counts):
            smaller.append(pattern)
    return smaller


def _refill(layouts: Layouts, plan: list[Pattern]) -> list[Pattern]:
    """Lay the pieces of the emptiest sheets anew in many orders, and keep the best layout."""
    plan = sorted(plan, key=lambda p: (-p.largest, -p.total, p.counts))
    again = [_refilled(layouts, pattern) for pattern in plan[:_REFILLED]]
    return [*again, *plan[_REFILLED:]]


def _refilled(layouts: Layouts, pattern: Pattern) -> Pattern:
    sheets = layouts.sheets
    ways = sheets.ways(pattern.counts)
    rng = np.random.default_rng(5)
    best = pattern
    for _ in range(_REFILLS):
        order = [ways[j] for j in rng.permutation(len(ways)).tolist()]
        noise = rng.random(97).tolist()
        left = list(pattern.counts)
        block = Filler(sheets, left, order, noise).fill(*sheets.stock[pattern.stock])
        if block is None or any(left):
            continue
        other = ranked_pattern(layouts, pattern.stock, [block])
        best = min(best, other, key=lambda p: (-p.largest, -p.total, p.cuts))
    return replace(best)
