"""Filling a given mix of sticks with all the rails, stick by stick, each as full as it can be.

Each stick takes the longest rail that is left and then those that fill it best, found by a search
in depth that is limited by steps (after J. N. D. Gupta and J. C. Ho, "A new heuristic algorithm for
the one-dimensional bin-packing problem", Production Planning & Control 10 (1999), from memory). The
more different lengths there are, the sooner a stick is full to the last unit; this is where pricing
patterns one by one takes longest.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from operator import itemgetter

import numpy as np

from service.domain.cutting.patterns.master import Pattern
from service.domain.cutting.sticks.pricing import Sticks

_STEPS = 400
_FEW = 12
_LAST = 4
_TRIED = 60
Taken = list[tuple[int, int]]


def fill_mix(sticks: Sticks, counts: Sequence[int], share: int) -> list[Pattern] | None:
    """Patterns that make all rails from these sticks, or None where some rail finds no room.

    Args:
        sticks: the rails and sticks.
        counts: how many of each stick there are.
        share: a stick is full enough with no more than 1/share of the loss that each of those left
            may have; a larger one looks longer at each stick.
    """
    order = sorted(range(len(sticks.lengths)), key=lambda i: -sticks.lengths[i])
    left = list(sticks.task.demands)
    rooms = [s for s, n in enumerate(counts) for _ in range(n)]
    rooms.sort(key=lambda s: (sticks.stock[s], s))
    loss = sum(sticks.stock[s] for s in rooms)
    loss -= sum(n * length for n, length in zip(left, sticks.lengths, strict=True))
    plan = []
    for at, s in enumerate(rooms):
        there = [i for i in order if left[i] and sticks.lengths[i] <= sticks.stock[s]]
        if not there:
            continue
        lengths, most = [sticks.lengths[i] for i in there], [left[i] for i in there]
        enough = max(0, loss // (share * (len(rooms) - at)))
        lost, taken = fullest(lengths, most, sticks.stock[s], enough)
        loss -= lost
        if loss < 0:
            return None
        made = [0] * len(left)
        for k, n in taken:
            made[there[k]] = n
            left[there[k]] -= n
        plan.append(sticks.pattern(s, made))
    return None if any(left) else plan


def fullest(
    lengths: Sequence[int], most: Sequence[int], room: int, enough: int
) -> tuple[int, Taken]:
    """What is lost of a room, and which rails fill it: (place in `lengths`, how many) pairs.

    The first rail is always among them. `lengths` fall; `most` says how many there are of each. The
    search ends with a loss of no more than `enough`, or after a fixed number of steps.

    Example:
        >>> fullest([7, 5, 4, 3], [1, 1, 1, 1], 14, 0)
        (0, [(0, 1), (2, 1), (3, 1)])
    """
    best = _in_depth(lengths, most, room, enough)
    if best[0] <= enough or len(lengths) < _FEW:
        return best
    rails = [k for k, n in best[1] for _ in range(n)]
    for last in range(2, min(_LAST, len(rails) - 1) + 1):
        best = min(best, _ended_anew(lengths, most, room, rails[:-last], last), key=itemgetter(0))
        if best[0] <= enough:
            break
    return best


def _in_depth(
    lengths: Sequence[int], most: Sequence[int], room: int, enough: int
) -> tuple[int, Taken]:
    """The longest rails first; then other and shorter ones in place of the last."""
    rising = [-length for length in lengths]
    taken: Taken = []
    best: tuple[int, Taken] = (room + 1, [])
    k = 0
    for _ in range(_STEPS):
        k = max(k, bisect_left(rising, -room))
        while k < len(lengths):
            n = min(most[k], room // lengths[k])
            taken.append((k, n))
            room -= n * lengths[k]
            k = max(k + 1, bisect_left(rising, -room))
        if room < best[0]:
            best = room, list(taken)
        if room <= enough:
            break
        k, n = taken.pop()
        room += lengths[k]
        if n > 1:
            taken.append((k, n - 1))
        elif not taken:  # the first rail stays
            break
        k += 1
    return best


def _ended_anew(
    lengths: Sequence[int], most: Sequence[int], room: int, begun: list[int], last: int
) -> tuple[int, Taken]:
    """The begun rails, some more, and the pair of rails that then fits best."""
    used = Counter(begun)
    left = np.array([n - used[k] for k, n in enumerate(most)])
    free = np.flatnonzero(left > 0)[::-1]  # shortest first
    sizes = np.array(lengths, dtype=np.int64)[free]
    room -= sum(lengths[k] for k in begun)
    best: tuple[int, list[int]] = (room, [])
    step = max(1, len(free) // _TRIED)
    for middle in range(0, len(free), step) if last > 2 else (-1,):
        rest = room - (int(sizes[middle]) * (last - 2) if middle >= 0 else 0)
        many = left[free].copy()
        if middle >= 0:
            many[middle] -= last - 2
        if rest < 0 or many.min(initial=0) < 0:
            continue
        other = np.searchsorted(sizes, rest - sizes, "right") - 1
        at = np.arange(len(sizes))
        good = (other >= 0) & (other <= at) & (many > 0)
        good &= (many[other] > 0) & ((other < at) | (many > 1))
        if not good.any():
            continue
        loss = np.where(good, rest - sizes - sizes[other], room + 1)
        one = int(loss.argmin())
        if loss[one] < best[0]:
            more = [int(free[one]), int(free[other[one]])]
            best = int(loss[one]), more + [int(free[middle])] * (last - 2 if middle >= 0 else 0)
    return best[0], sorted(Counter(begun + best[1]).items())
