"""Rounding to the smallest coin when cash is paid.

It is done once, on the amount that is paid, after tax, and changes no amount of a quote. A refund
is rounded like a payment. Steps, as authorities publish them: 0.05 in Canada (Budget 2012),
Estonia (since 2025), Belgium, Finland, Ireland, the Netherlands and Australia; 0.10 in New
Zealand; 0.50 in Denmark; 1 in Norway and Sweden. Where half a step goes is a setting of the till in
New Zealand; elsewhere it goes up.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, get_args

from service.domain.measure.money import Money
from service.domain.measure.rounding import half_down, half_up

CashRounding = Literal["half_up", "half_down"]
CASH_ROUNDINGS: tuple[str, ...] = get_args(CashRounding)


def cash_rounded(amount: Money, step: Fraction, rounding: CashRounding = "half_up") -> Money:
    """Return what is paid in cash: the nearest multiple of `step`, in whole units; 0 for none.

    A tie goes away from zero (`half_up`) or towards it (`half_down`).
    """
    minor = step * amount.currency.scale
    if not minor:
        return amount
    to = half_up if rounding == "half_up" else half_down
    times = to(amount.minor * minor.denominator, minor.numerator)
    exact = times * minor
    return amount.currency.minor(half_up(exact.numerator, exact.denominator))
