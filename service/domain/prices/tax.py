"""Tax on a quote: several rates by category, added or included, by line or by invoice.

Rounded half up, once, from the exact product: the Streamlined Sales and Use Tax Agreement, s. 324,
as enacted in R.I. Gen. Laws 44-18.1-25 (to the third decimal as computed, up when it is greater
than four), which leaves the choice of line or invoice to the seller. If a line's category has no
rate, the tax is reported as unknown, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from service.domain.measure.money import Currency, Money
from service.domain.measure.rounding import half_up
from service.domain.shop import Taxation, TaxRate
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class TaxLine:
    """One rate's part of the tax: its name, percentage, base and amount."""

    name: str
    percent: Fraction
    base: Money
    amount: Money


@dataclass(frozen=True, slots=True)
class Tax:
    """The tax on a document. `unknown` lists the categories without a rate.

    `exact` holds for each rate its base, and its tax before rounding, in 1/scale of a minor unit.
    """

    total: Money
    exact: tuple[tuple[TaxRate, int, int], ...]
    unknown: tuple[str, ...]
    included: bool

    @property
    def lines(self) -> tuple[TaxLine, ...]:
        """The rounded total shared over its rates, so that the parts add up to it."""
        weights = tuple(part for _, _, part in self.exact)
        shares = self.total.shared(weights) if any(weights) else (self.total,) * len(weights)
        return tuple(
            TaxLine(rate.name, rate.percent, Money(base, self.total.currency), share)
            for (rate, base, _), share in zip(self.exact, shares, strict=True)
        )


def tax_on(amounts: Iterable[tuple[str, Money]], taxation: Taxation, currency: Currency) -> Tax:
    """Return the tax on amounts, each with its category ("" for none).

    The exact tax is kept in 1/scale of a minor unit, and rounded once per invoice or per line.
    """
    by_line = taxation.rounded == "line"
    bases: dict[str, int] = {}
    rounded_lines = 0
    for category, money in amounts:
        minor = money.minor
        bases[category] = bases.get(category, 0) + minor
        if by_line:
            whole = sum(take for _, take in taxation.takes(category))
            rounded_lines += half_up(minor * whole, taxation.scale)
    return tax_on_bases(bases, taxation, currency, rounded_lines if by_line else None)


def tax_on_bases(
    bases: Mapping[str, int], taxation: Taxation, currency: Currency, rounded: int | None = None
) -> Tax:
    """Return the tax on each category's total, in minor units.

    `rounded` is the tax if it was rounded per line; otherwise it is rounded here, once.
    """
    exact: list[tuple[TaxRate, int, int]] = []
    unknown: list[str] = []
    for category, base in bases.items():
        takes = taxation.takes(category)
        if not takes and category and category not in taxation.untaxed:
            unknown.append(category)
        for rate, take in takes:
            exact.append((rate, base, base * take))
    if rounded is None:
        rounded = half_up(sum([part for _, _, part in exact]), taxation.scale)
    return Tax(Money(rounded, currency), tuple(exact), tuple(unknown), taxation.included)
