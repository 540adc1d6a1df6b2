"""Plain ways to fill sticks: best-fit-decreasing, and leaving out what is made too often."""

from __future__ import annotations

from fractions import Fraction

from service.domain.cutting.choice import Choice
from service.domain.cutting.master import Pattern
from service.domain.cutting.stick_pricing import Sticks


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
    open_sticks: list[tuple[int, int, list[int]]] = []
    for i in sorted(range(len(sticks.lengths)), key=lambda i: -sticks.lengths[i]):
        for _ in range(sticks.task.demands[i]):
            _place(sticks, i, open_sticks, limits, by_rate)
    return [sticks.pattern(s, counts) for _, s, counts in open_sticks]


def _place(
    sticks: Sticks,
    kind: int,
    open_sticks: list[tuple[int, int, list[int]]],
    limits: list[int | None],
    by_rate: bool,
) -> None:
    length = sticks.lengths[kind]
    fits = [(room, n) for n, (room, _, _) in enumerate(open_sticks) if room >= length]
    if fits:
        room, n = min(fits)
        _, s, counts = open_sticks[n]
    else:
        choices = [s for s, size in enumerate(sticks.stock) if size >= length and limits[s] != 0]
        if not choices:
            return
        s = min(choices, key=lambda s: _liking(sticks, s, by_rate))
        limit = limits[s]
        limits[s] = None if limit is None else limit - 1
        room, n, counts = sticks.stock[s], len(open_sticks), [0] * len(sticks.lengths)
        open_sticks.append((room, s, counts))
    counts[kind] += 1
    open_sticks[n] = (room - length, s, counts)


def _liking(sticks: Sticks, stock: int, by_rate: bool) -> tuple[Fraction, int]:
    size = sticks.stock[stock]
    return (Fraction(sticks.task.costs[stock], size) if by_rate else Fraction(size), stock)
