"""Plain ways to fill sticks: best-fit-decreasing, and leaving out what is made too often."""

from __future__ import annotations

from bisect import bisect_left, insort
from fractions import Fraction

from service.domain.cutting.patterns.choice import Choice
from service.domain.cutting.patterns.master import Pattern
from service.domain.cutting.sticks.pricing import Sticks


def trim(sticks: Sticks, choice: Choice) -> list[Pattern]:
    """The patterns one by one, what is made too often left out where that frees the most."""
    plan = [pattern for pattern, times in choice.uses for _ in range(times)]
    surplus = [
        max(0, m - d)
        for m, d in zip(choice.made(len(sticks.lengths)), sticks.task.demands, strict=True)
    ]
    plan.sort(key=lambda p: (-p.largest, p.counts))
    trimmed = []
    for pattern in plan:
        counts = list(pattern.counts)
        for i in range(len(counts)):
            drop = min(counts[i], surplus[i])
            counts[i] -= drop
            surplus[i] -= drop
        if any(counts):
            trimmed.append(sticks.pattern(pattern.stock, counts))
    return trimmed


def fill_best_fit(sticks: Sticks, by_rate: bool) -> list[Pattern]:
    """Best-fit-decreasing: each rail, longest first, into the fullest stick that takes it.

    A new stick is the one with the lowest cost for its length (`by_rate`), or the shortest.
    """
    limits = list(sticks.task.limits)
    liked = sorted(range(len(sticks.stock)), key=lambda s: _liking(sticks, s, by_rate))
    made: list[tuple[int, list[int]]] = []
    rooms: list[tuple[int, int]] = []  # what is left of each stick, and which it is; rising
    for kind in sorted(range(len(sticks.lengths)), key=lambda i: -sticks.lengths[i]):
        length = sticks.lengths[kind]
        for _ in range(sticks.task.demands[kind]):
            at = bisect_left(rooms, (length, -1))
            if at < len(rooms):
                room, n = rooms.pop(at)
            else:
                fits = (s for s in liked if sticks.stock[s] >= length and limits[s] != 0)
                stock = next(fits, None)
                if stock is None:
                    break
                limit = limits[stock]
                limits[stock] = None if limit is None else limit - 1
                room, n = sticks.stock[stock], len(made)
                made.append((stock, [0] * len(sticks.lengths)))
            made[n][1][kind] += 1
            insort(rooms, (room - length, n))
    return [sticks.pattern(stock, counts) for stock, counts in made]


def _liking(sticks: Sticks, stock: int, by_rate: bool) -> tuple[Fraction, int]:
    size = sticks.stock[stock]
    return (Fraction(sticks.task.costs[stock], size) if by_rate else Fraction(size), stock)
