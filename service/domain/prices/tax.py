"""Tax on a quote: several rates by category, added or included, by line or by invoice.

The tax is taken from the exact product and rounded once, as the shop's setting says. What
authorities publish differs, so each of these is a setting:

- line by line or once per invoice: the seller chooses (Streamlined Sales and Use Tax Agreement,
  s. 324, as enacted in R.I. Gen. Laws 44-18.1-25; Australia, GST Act, s. 9-90). Japan has had one
  rounding per invoice and rate since October 2023, and allows none per line;
- each named rate by itself, or the rates together: Ontario's two parts are one rate of 13 %, and
  s. 324 allows state and local rates together; Quebec prints two taxes, each with its amount;
- a tie goes up (s. 324: up when the third decimal as computed is greater than four), or down (New
  Zealand, GST Act, s. 19O: half a cent or less may be dropped). Japan allows any direction.

What is printed adds up: each rate's amount follows from its base, and the amounts add to the tax.
If a line's category has no rate, the tax is reported as unknown, never guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction

from service.domain.measure.money import Currency, Money
from service.domain.measure.rounding import down, half_down, half_up, up
from service.domain.shop import Taxation, TaxRate
from service.domain.value import dataclass

ROUNDINGS: Mapping[str, Callable[[int, int], int]] = {
    "half_up": half_up,
    "half_down": half_down,
    "up": up,
    "down": down,
}


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
    `amounts` are the rates' taxes where each is rounded by itself; empty where they are rounded
    together, and the total is shared over them.
    """

    total: Money
    exact: tuple[tuple[TaxRate, int, int], ...]
    unknown: tuple[str, ...]
    included: bool
    amounts: tuple[int, ...] = ()

    @property
    def lines(self) -> tuple[TaxLine, ...]:
        """Each rate's part of the tax; the parts add up to it."""
        return tuple(
            TaxLine(rate.name, rate.percent, Money(base, self.total.currency), share)
            for (rate, base, _), share in zip(self.exact, self._shares(), strict=True)
        )

    def _shares(self) -> tuple[Money, ...]:
        if self.amounts:
            return tuple(Money(minor, self.total.currency) for minor in self.amounts)
        weights = tuple(part for _, _, part in self.exact)
        return self.total.shared(weights) if any(weights) else (self.total,) * len(weights)


def tax_on(amounts: Iterable[tuple[str, Money]], taxation: Taxation, currency: Currency) -> Tax:
    """Return the tax on amounts, each with its category ("" for none).

    The exact tax is kept in 1/scale of a minor unit, and rounded once per invoice or per line.
    """
    lines: dict[str, list[int]] = {}
    for category, money in amounts:
        lines.setdefault(category, []).append(money.minor)
    bases = {category: sum(minors) for category, minors in lines.items()}
    if taxation.rounded == "invoice":
        return tax_on_bases(bases, taxation, currency)
    return _tax(bases, lines, taxation, currency)


def tax_on_bases(bases: Mapping[str, int], taxation: Taxation, currency: Currency) -> Tax:
    """Return the tax on each category's total, in minor units, rounded once per invoice."""
    return _tax(bases, None, taxation, currency)


def _tax(
    bases: Mapping[str, int],
    lines: Mapping[str, list[int]] | None,
    taxation: Taxation,
    currency: Currency,
) -> Tax:
    """Return the tax on bases; `lines` are the amounts in them, if it is rounded line by line."""
    exact: list[tuple[TaxRate, int, int]] = []
    takes: list[tuple[str, int]] = []
    unknown: list[str] = []
    for category, base in bases.items():
        if not taxation.takes(category) and category and category not in taxation.untaxed:
            unknown.append(category)
        for rate, take in taxation.takes(category):
            exact.append((rate, base, base * take))
            takes.append((category, take))
    to, scale = ROUNDINGS[taxation.rounding], taxation.scale
    if taxation.rates_rounded == "each":
        if lines is None:
            each = tuple([to(part, scale) for _, _, part in exact])
        else:
            each = tuple([sum(to(m * take, scale) for m in lines[name]) for name, take in takes])
        return Tax(
            Money(sum(each), currency), tuple(exact), tuple(unknown), taxation.included, each
        )
    if lines is None:
        total = to(sum([part for _, _, part in exact]), scale)
    else:
        whole = {name: sum(take for _, take in taxation.takes(name)) for name in lines}
        total = sum(to(m * whole[name], scale) for name, minors in lines.items() for m in minors)
    return Tax(Money(total, currency), tuple(exact), tuple(unknown), taxation.included)
