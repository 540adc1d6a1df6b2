"""Price new stick patterns: a bounded knapsack over reachable lengths, at the LP's dual values."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.patterns.bound import SCALE, whole_prices
from service.domain.cutting.patterns.master import Pattern, Prices, Task
from service.domain.cutting.patterns.points import reachable
from service.domain.value import dataclass

Ints = NDArray[np.int64]


def bundles(limit: int) -> list[int]:
    """Sizes that add up to every number from 0 to `limit` and no more.

    Example:
        >>> bundles(10)
        [1, 2, 4, 3]
    """
    sizes, size = [], 1
    while limit > 0:
        sizes.append(min(size, limit))
        limit -= sizes[-1]
        size *= 2
    return sizes


class Knapsack:
    """Best value of every reachable length, for all stick lengths at once."""

    def __init__(self, lengths: Sequence[int], limits: Sequence[int], points: Ints) -> None:
        self._points = points
        self._passes: list[tuple[int, int, int, Ints]] = []
        longest = int(points[-1])
        for kind, (length, limit) in enumerate(zip(lengths, limits, strict=True)):
            for size in bundles(min(limit, longest // length)):
                first = int(np.searchsorted(points, length * size))
                # Where each point falls back to once the bundle is taken off it.
                back = np.searchsorted(points, points[first:] - length * size, "right") - 1
                self._passes.append((kind, size, first, back.astype(np.int64)))
        self._kinds = len(lengths)

    def solve(self, prices: Sequence[int]) -> tuple[Ints, list[NDArray[np.bool_]]]:
        """Best value at each point, and for `counts` which pass was taken where."""
        value = np.zeros(self._points.size, dtype=np.int64)
        taken = []
        for kind, size, first, back in self._passes:
            with_it = value[back] + prices[kind] * size
            better = with_it > value[first:]
            value[first:][better] = with_it[better]
            taken.append(better)
        return value, taken

    def at(self, length: int) -> int:
        """The index of the longest reachable sum within a length."""
        return int(np.searchsorted(self._points, length, "right")) - 1

    def counts(self, taken: list[NDArray[np.bool_]], index: int) -> tuple[int, ...]:
        """How many of each type the best filling at this index holds."""
        counts = [0] * self._kinds
        for (kind, size, first, back), better in zip(
            reversed(self._passes), reversed(taken), strict=True
        ):
            if index >= first and better[index - first]:
                counts[kind] += size
                index = int(back[index - first])
        return tuple(counts)


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
