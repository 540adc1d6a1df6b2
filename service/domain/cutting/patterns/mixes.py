"""Mixes of stock that could be enough, cheapest first.

Whatever is cut from a mix of sheets or sticks, its worth is no more than what the stock can hold.
For any price of each piece (their area or length is one, the prices of the LP another) the most a
piece of stock can hold at these prices times how many there are must reach the worth of all that
is wanted. A mix that fails that cannot make the pieces; the cheapest mix that does not fail is a
lower bound on the cost. Costs come in steps, so this bound is often far above the LP's.

Whole numbers throughout. The mixes are found best-first: the stock is decided one by one, and the
rest is estimated from below by the fractional cover (George B. Dantzig's bound, from memory).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from fractions import Fraction

from service.domain.cutting.patterns.master import Task
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Cover:
    """One price list: what each stock holds at most, and what all that is wanted is worth."""

    holds: tuple[int, ...]
    need: int


@dataclass(frozen=True, slots=True)
class Mix:
    """How many of each stock, and what they cost; `whole` False is an estimate, no mix yet."""

    cost: int
    counts: tuple[int, ...]
    whole: bool = True


def mixes(task: Task, covers: Sequence[Cover], most: int, effort: int) -> Iterator[Mix]:
    """Every mix that satisfies all covers and costs less than `most`, cheapest first.

    Ends with a mix that is not `whole` where looking at `effort` part mixes was not enough: its
    cost is then a lower bound for all mixes not yet seen.
    """
    # Dear stock first: the cheap rest is then estimated closely.
    order = sorted(range(len(task.costs)), key=lambda s: (-task.costs[s], s))
    search = _Best(task, covers, order)
    heap: list[tuple[int, int, tuple[int, ...]]] = [(search.estimate(()), 0, ())]
    looked = 0
    while heap and looked < effort:
        estimate, _, counts = heapq.heappop(heap)
        if estimate >= most:
            return
        if len(counts) == len(order):
            yield Mix(estimate, search.unordered(counts))
            continue
        for more in search.branches(counts, most):
            looked += 1
            cost = search.estimate(more)
            if cost < most:
                heapq.heappush(heap, (cost, -len(more), more))
    if heap:
        yield Mix(min(most, heap[0][0]), (), whole=False)


class _Best:
    def __init__(self, task: Task, covers: Sequence[Cover], order: list[int]) -> None:
        self.order = order
        self.costs = [task.costs[s] for s in order]
        self.limits = [task.limits[s] for s in order]
        self.holds = [[cover.holds[s] for s in order] for cover in covers]
        self.needs = [cover.need for cover in covers]
        self.ranked = [self._by_rate(holds) for holds in self.holds]

    def _by_rate(self, holds: list[int]) -> list[int]:
        useful = [k for k, held in enumerate(holds) if held > 0]
        return sorted(useful, key=lambda k: (Fraction(self.costs[k], holds[k]), k))

    def unordered(self, counts: tuple[int, ...]) -> tuple[int, ...]:
        back = [0] * len(self.order)
        for s, n in zip(self.order, counts, strict=True):
            back[s] = n
        return tuple(back)

    def estimate(self, counts: tuple[int, ...]) -> int:
        """A cost that no completion of these counts goes below; huge where none is enough."""
        spent = sum(n * c for n, c in zip(counts, self.costs, strict=False))
        rest = 0
        for c, holds in enumerate(self.holds):
            left = self.needs[c] - sum(n * v for n, v in zip(counts, holds, strict=False))
            rest = max(rest, self._cover(left, holds, self.ranked[c], len(counts)))
        return spent + rest

    def _cover(self, left: int, holds: list[int], ranked: list[int], decided: int) -> int:
        cost = 0
        for k in ranked:
            if left <= 0:
                return cost
            if k < decided:
                continue
            limit = self.limits[k]
            if limit is None or limit * holds[k] >= left:
                return cost + -(-left * self.costs[k] // holds[k])
            cost += limit * self.costs[k]
            left -= limit * holds[k]
        return cost if left <= 0 else 1 << 62

    def branches(self, counts: tuple[int, ...], most: int) -> Iterator[tuple[int, ...]]:
        """The next stock taken 0, 1, 2 ... times, as far as it can help."""
        k = len(counts)
        needed = 0
        for holds, need in zip(self.holds, self.needs, strict=True):
            left = need - sum(n * v for n, v in zip(counts, holds, strict=False))
            if left > 0 and holds[k] > 0:
                needed = max(needed, -(-left // holds[k]))
        limit = self.limits[k]
        top = needed if limit is None else min(needed, limit)
        if self.costs[k]:
            top = min(top, most // self.costs[k])
        for n in range(top + 1):
            yield (*counts, n)
