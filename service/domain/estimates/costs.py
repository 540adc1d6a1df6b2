"""The cost of a job to the shop: materials at cost, and bench time.

Kept apart from prices, and calculated only for keys that may see costs. Margin is
(price - cost)/price and markup is price/cost, both on the price without tax and on amounts rounded
to the minor unit, as shown (Centennial College's guide to retail arithmetic; here markup is the
factor, as in a price list). Materials and labour are rounded half up and then added, so that what
is shown adds up.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from service.domain.estimates.calculation import Basis, JobEstimate
from service.domain.jobs.use import NONE, Use
from service.domain.materials.catalogue import Catalogue, ItemCost
from service.domain.measure.money import Currency, Money
from service.domain.measure.rounding import exact_sum, product
from service.domain.prices.lines import cost_and_quantity
from service.domain.shop import Billing
from service.domain.value import dataclass


@dataclass(init=False, slots=True, unsafe_hash=True)
class UseCost:
    """The cost of one use of material for all pieces; `known` is None if the cost is unknown.

    amount = quantity (billed, one piece) × pieces × cost per unit.
    """

    use: Final[Use]
    known: Final[ItemCost | None]
    quantity: Final[Fraction]
    pieces: Final[int]
    amount: Final[Fraction]

    def __init__(
        self,
        use: Use,
        known: ItemCost | None,
        quantity: Fraction,
        pieces: int,
        amount: Fraction,
    ) -> None:
        self.use = use
        self.known = known
        self.quantity = quantity
        self.pieces = pieces
        self.amount = amount


@dataclass(frozen=True, slots=True)
class JobCost:
    """The costs of a job: exactly, and to the minor unit as they are shown.

    Attributes:
        materials: every use of material.
        labour: the minutes at the hourly cost, exactly.
        spent: the materials whose cost is known, added up and rounded half up.
        wages: `labour`, rounded half up.
    """

    materials: tuple[UseCost, ...]
    labour: Fraction
    spent: Money
    wages: Money

    @property
    def total(self) -> Money | None:
        """Materials + labour as shown; None if the cost of any material is unknown."""
        if any(part.known is None for part in self.materials):
            return None
        return self.spent + self.wages


def job_cost(done: JobEstimate, basis: Basis) -> JobCost:
    """Return what a job costs: every use of material, and its minutes at the hourly cost."""
    billing, catalogue = basis.shop.billing, basis.catalogue
    materials = tuple(_use_cost(use, done.job.quantity, billing, catalogue) for use in done.uses)
    minutes, per = done.minutes.as_integer_ratio()
    hour, under = basis.standard.cost_per_hour.as_integer_ratio()
    labour = Fraction(minutes * hour, per * under * 60)
    return costed(materials, labour, Currency(basis.shop.currency))


def costed(materials: tuple[UseCost, ...], labour: Fraction, own: Currency) -> JobCost:
    """Return the costs of a job from its parts, in the shop's own currency."""
    spent = exact_sum(cost.amount for cost in materials)
    return JobCost(materials, labour, own.half_up(spent), own.half_up(labour))


def total_cost(costs: Sequence[JobCost]) -> Money | None:
    """Return the sum of the jobs' costs as shown; None if any is unknown."""
    known = [cost.total for cost in costs]
    first, *others = known
    return None if first is None else _added(first, others)


def _added(total: Money, others: Sequence[Money | None]) -> Money | None:
    for other in others:
        if other is None:
            return None
        total = total + other
    return total


def _use_cost(use: Use, pieces: int, billing: Billing, catalogue: Catalogue) -> UseCost:
    known, quantity = cost_and_quantity(use, billing, catalogue)
    if known is None:
        return UseCost(use, None, NONE, pieces, NONE)
    amount = product(quantity, known.cost)
    return UseCost(use, known, quantity, pieces, amount if pieces == 1 else amount * pieces)


def margin(price: Money, cost: Money) -> Fraction | None:
    """Return (price - cost)/price, or None if the price is zero."""
    return Fraction(price.minor - cost.minor, price.minor) if price.minor else None


def markup(price: Money, cost: Money) -> Fraction | None:
    """Return price/cost, or None if the cost is zero."""
    return Fraction(price.minor, cost.minor) if cost.minor else None
