"""New patterns for sticks, at the prices of the LP."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from service.domain.cutting.patterns.bound import SCALE, whole_prices
from service.domain.cutting.patterns.master import Pattern, Prices, Task
from service.domain.cutting.patterns.points import reachable
from service.domain.cutting.sticks.knapsack import Knapsack, bundles
from service.domain.value import dataclass

# Reachable lengths: at most so many, fewer where there are many rails to pass over them.
_MOST = 16_000
_FEWEST = 3_000
_WORK = 4_000_000


@dataclass(frozen=True, slots=True)
class Sticks:
    """Types of rail and stick, kerf included; `keep` is the least leftover worth keeping."""

    lengths: tuple[int, ...]
    stock: tuple[int, ...]
    task: Task
    kerf: int
    keep: int

    def pattern(self, stock: int, counts: Sequence[int]) -> Pattern:
        """A pattern with its offcut and cuts worked out."""
        used = sum(n * length for n, length in zip(counts, self.lengths, strict=True))
        left = self.stock[stock] - used - self.kerf
        kept = left if left >= self.keep else 0
        cuts = sum(counts) - (1 if left + self.kerf <= 0 else 0)
        return Pattern(stock, tuple(counts), None, kept, kept, cuts)


class Pricer:
    """Best fillings within the demands of a task.

    Where rails add up to too many different lengths, lengths are counted on a grid: rails rounded
    up make patterns that fit; rails rounded down allow more than fits and so still prove a bound
    (the floors of some lengths never add up to more than the floor of their sum). A pattern of the
    latter that does fit is taken before one of the former.
    """

    def __init__(self, sticks: Sticks, task: Task) -> None:
        self._sticks, self._task = sticks, task
        longest = max(sticks.stock)
        passes = sum(
            len(bundles(min(n, longest // length)))
            for n, length in zip(task.demands, sticks.lengths, strict=True)
        )
        most = max(_FEWEST, min(_MOST, _WORK // max(1, passes)))
        points, complete = reachable(sticks.lengths, task.demands, longest, most)
        self._exact = complete
        grid = 1 if complete else -(-2 * longest // most)
        self._stock = [length // grid for length in sticks.stock]
        if not complete:
            points = np.arange(longest // grid + 1, dtype=np.int64)
        up = [-(-length // grid) for length in sticks.lengths]
        self._make = self._prove = Knapsack(up, task.demands, points)
        if not complete:
            down = [max(1, length // grid) for length in sticks.lengths]
            self._prove = Knapsack(down, task.demands, points)

    def ceilings(self, whole: Sequence[int]) -> list[int]:
        """For each stock, a value that no filling exceeds at these whole prices."""
        value = self._prove.solve(whole)[0]
        return [int(value[self._prove.at(length)]) for length in self._stock]

    def worthwhile(self, prices: Prices) -> list[Pattern]:
        """For each stock a filling that is worth more than the stick and its rent."""
        whole = whole_prices(prices.pieces, self._task.penalties)
        found: dict[int, Pattern] = {}
        for sack in (self._prove, self._make)[self._exact :]:
            value, taken = sack.solve(whole)
            for s, length in enumerate(self._stock):
                index = sack.at(length)
                worth = self._task.costs[s] + float(prices.rents[s])
                good = self._task.limits[s] != 0 and value[index] > worth * SCALE * (1 + 1e-9) + 1
                if good and s not in found:
                    counts = sack.counts(taken, index)
                    if self._fits(s, counts):
                        found[s] = self._sticks.pattern(s, counts)
        return [found[s] for s in sorted(found)]

    def _fits(self, stock: int, counts: Sequence[int]) -> bool:
        used = sum(n * length for n, length in zip(counts, self._sticks.lengths, strict=True))
        return used <= self._sticks.stock[stock]
