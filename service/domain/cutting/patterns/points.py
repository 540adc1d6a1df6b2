"""The lengths that whole pieces can add up to: all that a cut ever needs to be set to.

Working on these instead of on every unit makes the unit's fineness cost nothing: 1/16 µm or
1/16 in, there are as many sums.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


def reachable(
    lengths: Sequence[int], times: Sequence[int], longest: int, most: int
) -> tuple[Ints, bool]:
    """Every sum up to `longest` of the lengths, each used up to its `times`; sorted, with 0.

    Returns:
        The sums, and whether they are all: adding stops once there are more than `most`, and the
        caller then works on a coarser grid.

    Example:
        >>> points, complete = reachable([3, 5], [2, 1], 12, 100)
        >>> points.tolist(), complete
        ([0, 3, 5, 6, 8, 11], True)
    """
    points = np.zeros(1, dtype=np.int64)
    for length, limit in sorted(zip(lengths, times, strict=True), reverse=True):
        base = points
        for _ in range(min(limit, longest // length)):
            base = base + length
            base = base[base <= longest]
            grown = np.union1d(points, base)
            if grown.size == points.size:
                break
            points = grown
        if points.size > most:
            return points, False
    return points, True
