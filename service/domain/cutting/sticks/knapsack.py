"""The best filling of one stick at given prices: a bounded knapsack over reachable lengths.

Exact: prices are whole numbers, lengths are whole numbers. Each type of rail is taken in bundles
of 1, 2, 4 ... so that a type wanted 500 times costs 9 passes (Kellerer, Pferschy, Pisinger,
"Knapsack Problems", section 7.1.1, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

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
