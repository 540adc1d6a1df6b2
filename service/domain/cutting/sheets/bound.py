"""Proofs for sheet plans: what they cannot cost less than, and which mixes of stock are too little.

The LP over patterns that mind no demand (each piece as often as it fits) is a relaxation whose
prices `Table` can check exactly. Its patterns are generated here until they settle or the work
allowed is spent; every round's prices prove a bound, and the best counts. The prices of the best
round, and plain areas, then tell which mixes of stock can never be enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil
from operator import le

from service.domain.cutting.patterns.bound import SCALE, proven, whole_prices
from service.domain.cutting.patterns.master import Master, Pattern, Prices
from service.domain.cutting.patterns.mixes import Cover, mixes
from service.domain.cutting.sheets.kinds import Block, Sheets, count_kinds
from service.domain.cutting.sheets.layout import Layouts, can_be_cut
from service.domain.cutting.sheets.table import Table

_READ = 80
_EFFORT = 12_000


class Proof:
    """The best bound so far, and the covers it came with."""

    def __init__(self, sheets: Sheets, work: int) -> None:
        self._sheets = sheets
        self._table = Table(sheets, work // 4)
        self._left = work
        self._layouts = Layouts(sheets)
        self.bound = Fraction(0)
        self.patterns: list[Pattern] = []  # fillings met that keep to the demands after all
        demands = sheets.task.demands
        area = sum(d * w * h for d, (w, h, _) in zip(demands, sheets.sizes, strict=True))
        self.covers = [Cover(tuple(w * h for w, h in sheets.stock), area)]

    @property
    def floor(self) -> int:
        """No plan, with its penalties, costs less."""
        return ceil(self.bound)

    def weigh(self, prices: Sequence[int]) -> Cover:
        """What each stock holds at most at these prices; raises the bound where they prove more."""
        self._table.solve(prices)
        self._left -= self._table.work
        holds = tuple(self._table.value(w, h) for w, h in self._sheets.stock)
        self.bound = max(self.bound, proven(self._sheets.task, prices, holds))
        demands = self._sheets.task.demands
        return Cover(holds, sum(d * p for d, p in zip(demands, prices, strict=True)))

    def settle(self, patterns: Sequence[Pattern]) -> None:
        """Raise the bound by column generation, from the patterns a search has found."""
        task = self._sheets.task
        master = Master(task)
        for pattern in patterns:
            master.add(pattern)
        best = Fraction(-1)
        while self._left > 0:
            prices = master.solve()
            whole = whole_prices(prices.pieces, task.penalties)
            cover = self.weigh(whole)
            bound = proven(task, whole, cover.holds)
            if bound > best:
                best, self.covers[1:] = bound, [cover]
            if not self._read(master, prices, whole):
                return

    def _read(self, master: Master, prices: Prices, whole: Sequence[int]) -> bool:
        """Add the table's fillings that are worth more than their sheet and its rent."""
        task, added = self._sheets.task, False
        for s, (w, h) in enumerate(self._sheets.stock):
            worth = int((task.costs[s] + float(prices.rents[s])) * SCALE * (1 + 1e-7)) + 1
            for block in self._table.fillings(w, h, whole, worth, _READ):
                pattern = Pattern(s, count_kinds(block, len(whole)), block)
                added |= master.add(pattern)
                fits = self._table.exact(w, h) and all(map(le, pattern.counts, task.demands))
                if fits and self._reached(s, block):
                    self.patterns.append(pattern)
        return added

    def _reached(self, stock: int, block: Block) -> bool:
        return not self._sheets.reach or can_be_cut(self._layouts, stock, block)


def area_floor(sheets: Sheets, most: int) -> int:
    """The cost of the cheapest sheets, up to `most`, whose areas together hold all pieces."""
    task = sheets.task
    area = sum(d * w * h for d, (w, h, _) in zip(task.demands, sheets.sizes, strict=True))
    cover = Cover(tuple(w * h for w, h in sheets.stock), area)
    return next((mix.cost for mix in mixes(task, [cover], most, _EFFORT)), most)
