"""How cheap any plan could possibly be: a proof from prices, in whole numbers.

Take any price for each piece. If no way to cut a piece of stock is worth more than that stock
costs, the priced demand is a lower bound on the cost of every plan (LP duality; with scaling as in
A. A. Farley, "A note on bounding a class of linear programming problems, including cutting stock
problems", Operations Research 38 (1990), from memory). The prices come from an LP in floats but are
rounded to whole numbers first, and the best filling is found exactly, so the bound is proven.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, gcd

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.patterns.master import Task

SCALE = 1 << 20
_MOST_BITS = 4_000_000


def whole_prices(prices: NDArray[np.float64], penalties: Sequence[int]) -> list[int]:
    """Prices in units of 1/SCALE, none above what leaving the piece out costs."""
    return [
        min(max(0, round(float(p) * SCALE)), penalty * SCALE)
        for p, penalty in zip(prices, penalties, strict=True)
    ]


def proven(task: Task, prices: Sequence[int], best: Sequence[int]) -> Fraction:
    """The bound that these prices prove.

    Args:
        task: demands, costs and limits.
        prices: whole prices of one piece each, in units of 1/SCALE.
        best: for each stock, a value that no way of cutting it exceeds, at these prices.
    """
    shrink = Fraction(1)
    for value, cost, limit in zip(best, task.costs, task.limits, strict=True):
        if limit is None and value > cost * SCALE:
            if cost == 0:
                return Fraction(0)
            shrink = max(shrink, Fraction(value, cost * SCALE))
    bound = Fraction(sum(d * p for d, p in zip(task.demands, prices, strict=True))) / shrink
    for value, cost, limit in zip(best, task.costs, task.limits, strict=True):
        if limit is not None:
            bound -= limit * max(Fraction(0), value / shrink - cost * SCALE)
    return max(Fraction(0), bound / SCALE)


def next_cost(task: Task, bound: Fraction, most: int) -> int:
    """The least total of whole pieces of stock that is not below the bound, up to `most`.

    Costs come in steps: with sheets at 900 and 2100 no plan costs 9 400, the next is 9 600.
    """
    floor = ceil(bound)
    if floor >= most:
        return most
    usable = [(c, q) for c, q in zip(task.costs, task.limits, strict=True) if c and q != 0]
    step = gcd(*(c for c, _ in usable)) if usable else 1
    if most // step > _MOST_BITS:
        return min(most, -(-floor // step) * step)
    totals = _totals(usable, step, most // step)
    above = totals >> -(-floor // step)
    if not above:
        return most
    return min(most, (-(-floor // step) + (above & -above).bit_length() - 1) * step)


def _totals(usable: Sequence[tuple[int, int | None]], step: int, top: int) -> int:
    # Bit n is set where a total of n steps can be had; Python's whole numbers are the bit field.
    mask = (1 << (top + 1)) - 1
    totals = 1
    for cost, limit in usable:
        size, times = cost // step, 1
        left = top // (cost // step) if limit is None else limit
        while left > 0 and size * times <= top:
            take = min(times, left)
            totals |= (totals << (size * take)) & mask
            left -= take
            times *= 2
    return totals
