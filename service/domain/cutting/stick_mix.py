"""Filling a given mix of sticks with all the rails, stick by stick, each as full as it can be.

Each stick takes the longest rail that is left and then those that fill it best, found by a search
in depth that is limited by steps (after J. N. D. Gupta and J. C. Ho, "A new heuristic algorithm for
the one-dimensional bin-packing problem", Production Planning & Control 10 (1999), from memory). The
more different lengths there are, the sooner a stick is full to the last unit; this is where pricing
patterns one by one takes longest.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from service.domain.cutting.master import Pattern
from service.domain.cutting.stick_pricing import Sticks

_STEPS = 1_500
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
