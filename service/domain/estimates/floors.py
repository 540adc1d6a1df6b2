"""The least margin that a shop wants, and what of a job is sold under it.

A component's price is its lines' share of what is left of the job after discounts and without tax:
lines of the component / all lines × that. Its cost is that of its material, of `labour` that of the
bench minutes; the margin is (price - cost)/price, as in `costs`. Nothing is said of a component
without a line or with a cost that is not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from service.domain.estimates.costs import JobCost
from service.domain.jobs.advice.advisory import Advisory
from service.domain.measure.money import Money
from service.domain.measure.rounding import decimal_text, exact_sum
from service.domain.prices.lines import Line
from service.domain.shop import LeastMargin


def under_floor(
    lines: Sequence[Line], cost: JobCost, net: Money, floors: Sequence[LeastMargin]
) -> Iterator[Advisory]:
    """Yield a warning for each component, and for the job, that earns less than the shop wants.

    Args:
        lines: of the job.
        cost: of the job, in the currency of its prices.
        net: what is left of the job after discounts, without tax.
        floors: the least margins.
    """
    for floor in floors:
        own = [line for line in lines if floor.component in ("", line.component)]
        spent = _cost(cost, floor.component)
        if own and spent is not None:
            price = _share(own, lines, net)
            if (price - spent) * 100 < floor.percent * price or price <= 0 < spent:
                yield _warning(floor, own[0], price, spent, net)


def _cost(cost: JobCost, component: str) -> Fraction | None:
    """Return what a component costs, in minor units; None if that is not known."""
    parts = [part for part in cost.materials if component in ("", part.use.component)]
    if any(part.known is None for part in parts):
        return None
    spent = exact_sum(part.amount for part in parts)
    wages = cost.labour if component in ("", "labour") else Fraction(0)
    return (spent + wages) * cost.spent.currency.scale


def _share(own: Sequence[Line], lines: Sequence[Line], net: Money) -> Fraction:
    """Return the share of some lines in what is left of a job, in minor units."""
    whole = sum(line.amount.minor for line in lines)
    part = sum(line.amount.minor for line in own)
    return Fraction(net.minor * part, whole) if whole else Fraction(0)


def _warning(
    floor: LeastMargin, line: Line, price: Fraction, spent: Fraction, net: Money
) -> Advisory:
    half_up = net.currency.half_up
    scale = net.currency.scale
    told, paid = half_up(price / scale).text(), half_up(spent / scale).text()
    what, where = (floor.component, line.pointer) if floor.component else ("the job", "")
    return Advisory(
        "under_least_margin",
        "warning",
        f"{what} is sold at {told} before tax and costs {paid}: "
        f"that is under the least margin of {decimal_text(*floor.percent.as_integer_ratio(), 6)} %",
        where,
    )
