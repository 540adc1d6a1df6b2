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

from service.domain.money import Currency, Money
from service.domain.shop import Taxation


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
    rates = {rate.category for rate in taxation.rates}
    known = {"", *taxation.untaxed} | rates
    unknown = tuple(dict.fromkeys(c for c, _ in amounts if c not in known))
    exact: dict[tuple[str, str], Fraction] = {}
    bases: dict[tuple[str, str], Money] = {}
    total = currency.minor(0)
    for category in dict.fromkeys(c for c, _ in amounts if c in rates):
        own = [rate for rate in taxation.rates if rate.category == category]
        percent = sum((rate.percent for rate in own), Fraction(0))
        of_category = [money for c, money in amounts if c == category]
        base = sum(of_category, currency.minor(0))
        for rate in own:
            bases[category, rate.name] = base
            exact[category, rate.name] = _share(base.units(), rate.percent, percent, taxation)
        if taxation.rounded == "line":
            for money in of_category:
                total += currency.half_up(_share(money.units(), percent, percent, taxation))
    if taxation.rounded == "invoice":
        total = currency.half_up(sum(exact.values(), Fraction(0)))
    return Tax(total, _by_rate(total, exact, bases, taxation), unknown, taxation.included)


def _share(base: Fraction, percent: Fraction, whole: Fraction, taxation: Taxation) -> Fraction:
    """A rate's exact tax: base · percent / 100, or its part of what an included price holds."""
    return base * percent / ((100 + whole) if taxation.included else 100)


def _by_rate(
    total: Money,
    exact: dict[tuple[str, str], Fraction],
    bases: dict[tuple[str, str], Money],
    taxation: Taxation,
) -> tuple[TaxLine, ...]:
    """The rounded total shared over its rates, so that the parts add up to it."""
    percents = {(rate.category, rate.name): rate.percent for rate in taxation.rates}
    keys = list(exact)
    common = lcm(*(value.denominator for value in exact.values()))
    weights = tuple(int(exact[key] * common) for key in keys)
    if not any(weights):
        zero = total.currency.minor(0)
        return tuple(TaxLine(key[1], percents[key], bases[key], zero) for key in keys)
    shares = total.shared(weights)
    return tuple(
        TaxLine(key[1], percents[key], bases[key], share)
        for key, share in zip(keys, shares, strict=True)
    )
