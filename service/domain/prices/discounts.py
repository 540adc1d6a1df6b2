"""Discounts by hand and by coupon: a percentage or an amount, always with a reason.

They are applied in sequence, each to what the previous ones left: first the price list's quantity
break, then a job's own discounts, then the document's, of which a coupon is the last. Fees are
never discounted. Each discount is rounded half up to the minor unit, once, and shared over its
lines in proportion to their remaining amounts, so that tax can be charged on what is left of each
line.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.job import Discount
from service.domain.measure.money import Currency, Money
from service.domain.measure.rounding import half_up
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Reduction:
    """A discount, the amount it was applied to, and the amount it takes off."""

    discount: Discount
    base: Money
    amount: Money


def take_off(
    left: list[int], places: Sequence[int], discount: Discount, currency: Currency, pointer: str
) -> Reduction:
    """Apply a discount to the lines at `places`; `left` holds remaining amounts, in minor units.

    Raises:
        JobRefused: it exceeds the remaining amount, or is finer than the currency.
    """
    base = sum(left[place] for place in places)
    off = _off(base, discount, currency, pointer)
    if discount.coupon:
        off = min(off, base)
    if off > base:
        there = currency.minor(base).text()
        detail = f"this takes more off than the {there} that there is to take it off"
        raise JobRefused([Fault(f"{pointer}/amount", "discount_too_large", detail)])
    if off:
        weights = tuple(left[place] for place in places)
        for place, share in zip(places, currency.minor(off).shared(weights), strict=True):
            left[place] -= share.minor
    return Reduction(discount, currency.minor(base), currency.minor(off))


def check_coupon(goods: int, base: int, discount: Discount, currency: Currency) -> None:
    """Check that a coupon suits a document; both sums are in minor units, before it is taken off.

    Raises:
        JobRefused: the goods are below its least order, or there is nothing that it is for.
    """
    if goods < discount.minimum * currency.scale:
        least, there = currency.half_up(discount.minimum).text(), currency.minor(goods).text()
        told = f"the coupon {discount.coupon} is for orders from {least} on; this is {there}"
        raise JobRefused([Fault("/coupon", "coupon_below_minimum", told)])
    if not base:
        named = ", ".join(discount.components) or "goods"
        told = f"the coupon {discount.coupon} is for {named}, and there is nothing to take it off"
        raise JobRefused([Fault("/coupon", "coupon_without_effect", told)])


def _off(base: int, discount: Discount, currency: Currency, pointer: str) -> int:
    if discount.percent is not None:
        return half_up(base * discount.percent.numerator, 100 * discount.percent.denominator)
    minor = (discount.amount or Fraction(0)) * currency.scale
    if minor.denominator != 1:
        detail = f"{currency.code} has {currency.digits} decimals"
        raise JobRefused([Fault(f"{pointer}/amount", "bad_money", detail)])
    return minor.numerator
