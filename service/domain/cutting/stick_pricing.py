"""New patterns for sticks, at the prices of the LP."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.domain.cutting.bound import SCALE, whole_prices
from service.domain.cutting.knapsack import Knapsack
from service.domain.cutting.master import Pattern, Prices, Task
from service.domain.cutting.points import reachable

_MOST_POINTS = 12_000
_GRID = 6_000


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

    Where rails add up to too many different lengths, rails rounded up to a grid make patterns that
    fit, and rails rounded down allow more than fits and so still prove a bound (the floors of some
    lengths never add up to more than the floor of their sum).
    """

    def __init__(self, sticks: Sticks, task: Task) -> None:
        self._sticks, self._task = sticks, task
        longest = max(sticks.stock)
        points, complete = reachable(sticks.lengths, task.demands, longest, _MOST_POINTS)
        grid = 1 if complete else -(-longest // _GRID)
        self._stock = [length // grid for length in sticks.stock]
        self._lengths = [-(-length // grid) for length in sticks.lengths]
        if not complete:
            points = np.arange(longest // grid + 1, dtype=np.int64)
        self._make = self._prove = Knapsack(self._lengths, task.demands, points)
        if not complete:
            down = [max(1, length // grid) for length in sticks.lengths]
            self._prove = Knapsack(down, task.demands, points)

    def ceilings(self, whole: Sequence[int]) -> list[int]:
        """For each stock, a value that no filling exceeds at these whole prices."""
        value = self._prove.solve(whole)[0]
        return [int(value[self._prove.at(length)]) for length in self._stock]

    def worthwhile(self, prices: Prices) -> list[Pattern]:
        """For each stock its best filling, where it is worth more than the stick and its rent."""
        whole = whole_prices(prices.pieces, self._task.penalties)
        value, taken = self._make.solve(whole)
        found = []
        for s, length in enumerate(self._stock):
            index = self._make.at(length)
            worth = self._task.costs[s] + float(prices.rents[s])
            if self._task.limits[s] != 0 and value[index] > worth * SCALE * (1 + 1e-9) + 1:
                found.append(self._sticks.pattern(s, self._make.counts(taken, index)))
        return found
