"""A shop's price list: dated rules that price what a job uses.

A rule prices one component, one group or one item, on one basis, by one method:
- `rate`: an amount per unit;
- `whole`: a bracket table, one amount for the bracket that the quantity falls into;
- `marginal`: a bracket table read like a tax table, each slice of the quantity at its own rate;
- `markup`: the item's unit cost times a factor;
- `sliding_markup`: the same, with the factor from a bracket table by unit cost.

Fees are rules of the component `fee`; see `fees`. Services are rules of `service`; see `asked`.

A quantity equal to a bracket's upper bound belongs to that bracket: 45 united inches are in the
45 bracket, 45.01 in the next (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from datetime import date
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Literal, get_args

from service.domain.errors import BadValue
from service.domain.jobs.use import COMPONENTS
from service.domain.jobs.work import WORKS
from service.domain.measure.money import Currency
from service.domain.value import dataclass, derive

Basis = Literal[
    "united_inch",
    "square_foot",
    "linear_foot",
    "perimeter_foot",
    "sheet",
    "piece",
    "opening",
    "groove",
    "ruled_line",
    "minute",
    "mile",
    "kilometre",
    "day",
    "hour",
]
Method = Literal["rate", "whole", "marginal", "markup", "sliding_markup"]
BASES: tuple[str, ...] = get_args(Basis)
METHODS: tuple[str, ...] = get_args(Method)
MARKUPS = ("markup", "sliding_markup")
"""The methods that multiply a cost."""
TABLES = ("whole", "marginal", "sliding_markup")
"""The methods that look a rate up in brackets."""
APPLIES = ("asked", "always")
SERVICE, SUNDRY, WORK = "service", "sundry", "work"
"""The components of services that a document asks for, and of lines with a price of their own."""
PRICED = tuple(component for component in COMPONENTS if component != SUNDRY)
"""The components that a list has rules for."""
SERVICE_BASES = ("piece", "mile", "kilometre", "day", "hour")
"""What the quantity of a service counts; all but the piece count nothing else."""

_NOTHING_OFF = Fraction(0)
MOST_FOUND = 4_096
"""The number of items of which a list keeps the rules that it found."""


@dataclass(frozen=True, slots=True)
class Bracket:
    """One row of a bracket table: up to and including `up_to` (None: unbounded), at `rate`."""

    up_to: Fraction | None
    rate: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRule:
    """The rule that prices one thing.

    Attributes:
        code: the shop's name for the rule; it is printed in the workings.
        component, group, item, supply: what it prices, the most specific rule wins.
        charge: rules of different charges add up (the board, and each extra opening in it).
        basis, method, rate, brackets: how; `rate` is money per unit, or the factor of a markup.
        above: free units, e.g. 1 for "each opening after the first".
        minimum: the minimum amount per piece, in whole units of the currency.
        set_up: an amount once per job, whatever its quantity.
        rounding_step: the amount of a piece is rounded half up to a multiple of this.
        tax_category: which tax rates apply; empty for none.
        applies: for a fee: only on request, or always.
        description: for a fee or a service: the text of its line.
        least, step: the minimum and the rounding step as ratios, None if there is none.
        plain: True if it has no minimum, rounding step, set-up or free units.
    """

    code: str
    component: str
    basis: str
    method: str
    rate: Fraction = Fraction(0)
    brackets: tuple[Bracket, ...] = ()
    item: str = ""
    group: str = ""
    supply: str = ""
    charge: str = "material"
    above: Fraction = Fraction(0)
    minimum: Fraction = Fraction(0)
    set_up: Fraction = Fraction(0)
    rounding_step: Fraction = Fraction(0)
    tax_category: str = "goods"
    applies: str = "asked"
    description: str = ""
    least: tuple[int, int] | None = field(init=False, repr=False, compare=False)
    step: tuple[int, int] | None = field(init=False, repr=False, compare=False)
    plain: bool = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        special = self.minimum or self.set_up or self.rounding_step or self.above
        derive(self, "plain", not special)
        derive(self, "least", self.minimum.as_integer_ratio() if self.minimum else None)
        step = self.rounding_step.as_integer_ratio() if self.rounding_step else None
        derive(self, "step", step)
        for name, value, known in (
            ("component", self.component, COMPONENTS),
            ("basis", self.basis, BASES),
            ("method", self.method, METHODS),
            ("applies", self.applies, APPLIES),
        ):
            if value not in known:
                raise BadValue(f"{value} is not a {name} known here", f"/{name}")
        for name in ("rate", "above", "minimum", "set_up", "rounding_step"):
            if getattr(self, name) < 0:
                raise BadValue(f"{name.replace('_', ' ')} cannot be below zero", f"/{name}")
        if (self.component == "labour") != (self.basis == "minute"):
            raise BadValue("labour is priced by the minute, and nothing else is", "/basis")
        if self.component == "labour" and self.method in MARKUPS:
            raise BadValue("labour has a rate or brackets; its cost is no item's", "/method")
        self._serves()
        if (self.method in TABLES) != bool(self.brackets):
            raise BadValue("a bracket table needs brackets, and only it has them", "/brackets")
        if self.applies == "always" and not (self.component == "fee" and self.item):
            raise BadValue("only a fee with a name of its own is always laid on", "/applies")
        self._brackets_rise()

    def _serves(self) -> None:
        """Check that a service has a code and a basis of its own, and a price on the list."""
        serves = self.component == SERVICE
        if self.component == WORK and (self.item not in WORKS or self.method in MARKUPS):
            told = f"name the kind of work, one of {', '.join(WORKS)}, with a rate or brackets"
            raise BadValue(told, "/item")
        if serves and self.basis not in SERVICE_BASES:
            raise BadValue(f"a service is priced by the {', '.join(SERVICE_BASES)}", "/basis")
        if not serves and self.basis in SERVICE_BASES[1:]:
            raise BadValue(f"only a service is priced by the {self.basis}", "/basis")
        if serves and not self.item:
            raise BadValue("a service has a code, by which it is asked for", "/item")
        if serves and self.method in MARKUPS:
            raise BadValue("a service has a rate or brackets; it has no cost", "/method")

    def _brackets_rise(self) -> None:
        last = Fraction(0)
        for position, bracket in enumerate(self.brackets):
            ends = bracket.up_to is None
            if ends != (position == len(self.brackets) - 1):
                raise BadValue(
                    "every bracket but the last has an upper end, and the last has none",
                    f"/brackets/{position}/up_to",
                )
            if bracket.rate < 0:
                raise BadValue("a rate cannot be below zero", f"/brackets/{position}/rate")
            if bracket.up_to is not None:
                if bracket.up_to <= last:
                    raise BadValue("brackets rise", f"/brackets/{position}/up_to")
                last = bracket.up_to

    def specificity(self) -> int:
        """Return the specificity of this rule: item over group over component."""
        return (4 if self.item else 2 if self.group else 0) + (1 if self.supply else 0)


@dataclass(frozen=True, slots=True)
class QuantityBreak:
    """A percentage off from a quantity of the same job on."""

    from_quantity: int
    percent: Fraction

    def __post_init__(self) -> None:
        if self.from_quantity < 2 or not 0 <= self.percent <= 100:
            raise BadValue("a quantity break starts at 2 or more and takes off 0 to 100 percent")


@dataclass(frozen=True, slots=True, eq=False)
class PriceList:
    """A list of rules in one currency, in force from its first day.

    Raises:
        BadValue: two rules with the same code, or that price the same thing for one charge.
    """

    code: str
    currency: Currency
    first_day: date
    rules: Sequence[PriceRule]
    breaks: Sequence[QuantityBreak] = ()
    always: tuple[PriceRule, ...] = field(init=False, repr=False)
    _rules: Mapping[tuple[str, str, str], tuple[PriceRule, ...]] = field(init=False, repr=False)
    _found: Callable[[str, str, str, str], tuple[PriceRule, ...]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        derive(self, "rules", tuple(self.rules))
        breaks = sorted(self.breaks, key=lambda step: step.from_quantity)
        derive(self, "breaks", tuple(breaks))
        derive(self, "always", tuple([rule for rule in self.rules if rule.applies == "always"]))
        derive(self, "_rules", MappingProxyType(self._index()))
        derive(self, "_found", lru_cache(MOST_FOUND)(self._search))

    def _index(self) -> dict[tuple[str, str, str], tuple[PriceRule, ...]]:
        """Return the rules by component, item and group."""
        seen: dict[object, str] = {}
        found: dict[tuple[str, str, str], tuple[PriceRule, ...]] = {}
        for position, rule in enumerate(self.rules):
            target = (rule.component, rule.item, rule.group, rule.supply, rule.charge)
            for key in (("code", rule.code), target):
                if key in seen:
                    raise BadValue(
                        f"{rule.code} prices the same as {seen[key]}; keep one",
                        f"/rules/{position}",
                    )
                seen[key] = rule.code
            named = (rule.component, rule.item, rule.group)
            found[named] = (*found.get(named, ()), rule)
        return found

    def rules_for(
        self, component: str, item: str, group: str, supply: str = ""
    ) -> tuple[PriceRule, ...]:
        """Return the rules that price an item: the most specific per charge, in list order."""
        return self._found(component, item, group, supply)

    def _search(self, component: str, item: str, group: str, supply: str) -> tuple[PriceRule, ...]:
        best: dict[str, PriceRule] = {}
        for named in {(component, item, ""), (component, "", group), (component, "", "")}:
            for rule in self._rules.get(named, ()):
                if rule.supply not in ("", supply):
                    continue
                standing = best.get(rule.charge)
                if standing is None or rule.specificity() > standing.specificity():
                    best[rule.charge] = rule
        order = {rule.code: position for position, rule in enumerate(self.rules)}
        return tuple(sorted(best.values(), key=lambda rule: order[rule.code]))

    def fees(self) -> tuple[str, ...]:
        """Return the fees that a job may request."""
        asked = [r.item for r in self.rules if r.component == "fee" and r.applies == "asked"]
        return tuple(dict.fromkeys(code for code in asked if code))

    def fee_rules(self, code: str) -> tuple[PriceRule, ...]:
        """Return the rules of a fee that a job may request; empty if there is no such fee."""
        if code not in self.fees():
            return ()
        return tuple(r for r in self.rules_for("fee", code, "") if r.applies == "asked")

    def services(self) -> tuple[str, ...]:
        """Return the services that a document may ask for."""
        return tuple(dict.fromkeys(r.item for r in self.rules if r.component == SERVICE))

    def percent_off(self, quantity: int) -> Fraction:
        """Return the quantity break for `quantity` of the same job, in percent."""
        percent = _NOTHING_OFF
        for step in self.breaks:
            if quantity >= step.from_quantity:
                percent = step.percent
        return percent
