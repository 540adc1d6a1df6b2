"""Greedy guillotine fillings with noise: many quick plans, whose sheets are the first patterns.

A piece goes into the corner of a rectangle, a cut from edge to edge parts what is left in two, and
each is filled in turn. The order of pieces and some cuts are shaken by seeded noise, so that each
turn gives other sheets, and every run the same ones.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from service.domain.cutting.patterns.choice import Choice, gathered
from service.domain.cutting.patterns.master import Pattern
from service.domain.cutting.sheets.kinds import Block, Sheets, Way, above, beside, count_kinds


class Filler:
    """Fills rectangles from what is left of the demands."""

    def __init__(self, sheets: Sheets, left: list[int], ways: list[Way], noise: list[float]):
        self._sheets = sheets
        self.left = left
        self._ways = ways
        self._noise = noise
        self._at = 0

    def _chance(self) -> float:
        self._at = (self._at + 1) % len(self._noise)
        return self._noise[self._at]

    def fill(self, w: int, h: int) -> Block | None:
        """The rectangle filled from its corner; takes what it places off `left`."""
        way = self._pick(w, h)
        if way is None:
            return None
        self.left[way.kind] -= 1
        right, top = w - way.w, h - way.h
        # The cut that leaves the larger single rectangle, or now and then the other one.
        right_first = right * h >= top * w
        if right and top and self._chance() < 0.2:
            right_first = not right_first
        if not self._sheets.orders(w, h, way.w, way.h)[0 if right_first else 1]:
            right_first = not right_first
        block = way.leaf()
        if right_first:
            block = _joined(above, block, self.fill(way.w, top) if top else None)
            return _joined(beside, block, self.fill(right, h) if right else None)
        block = _joined(beside, block, self.fill(right, way.h) if right else None)
        return _joined(above, block, self.fill(w, top) if top else None)

    def _pick(self, w: int, h: int) -> Way | None:
        # The first in the shaken order that fits, unless one of the next few fits an edge exactly.
        first, seen = None, 0
        left = self.left
        reach = self._sheets.reach
        for way in self._ways:
            if way.w > w or way.h > h or left[way.kind] <= 0:
                continue
            if reach and not any(self._sheets.orders(w, h, way.w, way.h)):
                continue
            if way.w == w or way.h == h:
                return way
            if first is None or (seen == 1 and self._chance() < 0.15):
                first = way
            seen += 1
            if seen == 6:
                break
        return first


def _joined(join: Callable[[Block, Block], Block], block: Block, other: Block | None) -> Block:
    return block if other is None else join(block, other)


def greedy_plan(
    sheets: Sheets, demands: Sequence[int], seed: int, values: Sequence[float] | None = None
) -> tuple[Choice, list[Pattern]]:
    """One plan for these demands, sheet by sheet, and every filling that was tried on the way.

    Args:
        sheets: kinds of piece and sheet.
        demands: how many of each kind are to be placed.
        seed: of the noise; 0 is the plain order, largest first.
        values: worth of each kind, its area where None.
    """
    rng = np.random.default_rng(seed)
    worth = values or [float(w * h) for w, h, _ in sheets.sizes]
    shake = 0.0 if seed == 0 else 0.15 + 0.5 * float(rng.random())
    noise = rng.random(997).tolist()
    keys = [
        v * (1 + shake * (float(n) - 0.5))
        for v, n in zip(worth, rng.random(len(worth)), strict=True)
    ]
    flips = rng.random(2 * len(worth)).tolist()
    ways = sorted(
        sheets.ways(demands), key=lambda y: (-keys[y.kind], flips[2 * y.kind + int(y.turned)])
    )
    left, limits = list(demands), list(sheets.task.limits)
    chosen: list[Pattern] = []
    tried: list[Pattern] = []
    while any(left):
        best: tuple[float, Pattern] | None = None
        for s, (w, h) in enumerate(sheets.stock):
            if limits[s] == 0:
                continue
            block = Filler(sheets, list(left), ways, noise[s:] + noise[:s]).fill(w, h)
            if block is None:
                continue
            pattern = Pattern(s, count_kinds(block, len(left)), block)
            tried.append(pattern)
            gain = sum(n * v for n, v in zip(pattern.counts, worth, strict=True))
            rate = (sheets.task.costs[s] + 1e-3) / gain
            if best is None or rate < best[0]:
                best = (rate, pattern)
        if best is None:
            break
        chosen.append(best[1])
        left = [a - b for a, b in zip(left, best[1].counts, strict=True)]
        limit = limits[best[1].stock]
        limits[best[1].stock] = None if limit is None else limit - 1
        noise = noise[7:] + noise[:7]
    return gathered(chosen), tried
