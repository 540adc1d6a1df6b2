"""Tax on a quote: several rates by category, on top or included, by line or by invoice.

Rounded half up, once, from the exact product: the Streamlined Sales and Use Tax Agreement, s. 324,
as enacted in R.I. Gen. Laws 44-18.1-25 (to the third decimal as computed, up when it is greater
than four), which leaves the choice of line or invoice to the seller. Where a line's category has
no rate the tax is said to be unknown and never guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from service.domain.measure.rounding import half_up
from service.domain.money import Currency, Money
from service.domain.shop import Taxation, TaxRate


@dataclass(frozen=True, slots=True)
class TaxLine:
    """One rate's part of the tax: its name, percent, what it is laid on, and the amount."""

    name: str
    percent: Fraction
    base: Money
    amount: Money


@dataclass(frozen=True, slots=True)
class Tax:
    """The tax on a document. `unknown` names the categories that no rate is set for."""

    total: Money
    lines: tuple[TaxLine, ...]
    unknown: tuple[str, ...]
    included: bool


def tax_on(amounts: Sequence[tuple[str, Money]], taxation: Taxation, currency: Currency) -> Tax:
    """The tax on amounts, each with its category ("" for none)."""
    by_category: dict[str, list[int]] = {}
    for category, money in amounts:
        by_category.setdefault(category, []).append(money.minor)
    exact: list[tuple[TaxRate, int, Fraction]] = []
    rounded_lines, unknown = 0, []
    for category, minors in by_category.items():
        rates = [rate for rate in taxation.rates if rate.category == category]
        if not rates and category and category not in taxation.untaxed:
            unknown.append(category)
        whole = sum((rate.percent for rate in rates), Fraction(0))
        base = sum(minors)
        exact += [(rate, base, _part(base, rate.percent, whole, taxation)) for rate in rates]
        if taxation.rounded == "line":
            rounded_lines += sum(_round(_part(minor, whole, whole, taxation)) for minor in minors)
    if taxation.rounded == "line":
        total = rounded_lines
    else:
        total = _round(sum((part for _, _, part in exact), Fraction(0)))
    lines = _by_rate(Money(total, currency), exact)
    return Tax(Money(total, currency), lines, tuple(unknown), taxation.included)


def _part(base: int, percent: Fraction, whole: Fraction, taxation: Taxation) -> Fraction:
    """A rate's exact tax: base · percent / 100, or its part of what an included price holds."""
    if taxation.included:
        return base * percent / (100 + whole)
    return Fraction(base * percent.numerator, 100 * percent.denominator)


def _round(exact: Fraction) -> int:
    return half_up(exact.numerator, exact.denominator)


def _by_rate(total: Money, exact: Sequence[tuple[TaxRate, int, Fraction]]) -> tuple[TaxLine, ...]:
    """The rounded total shared over its rates, so that the parts add up to it."""
    common = lcm(*(part.denominator for _, _, part in exact))
    weights = tuple(part.numerator * (common // part.denominator) for _, _, part in exact)
    shares = total.shared(weights) if any(weights) else (total,) * len(weights)
    return tuple(
        TaxLine(rate.name, rate.percent, Money(base, total.currency), share)
        for (rate, base, _), share in zip(exact, shares, strict=True)
    )
