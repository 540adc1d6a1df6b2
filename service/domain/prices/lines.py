"""Prices each use of material, and the bench minutes, by the rules of the price list.

A line shows everything needed to check it by hand: quantity × rate (or the bracket's amount, or the
slices of a marginal table), not below the minimum, to the nearest rounding step, half up to the
currency's minor unit; times the pieces of the job, plus the set-up once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Final

from service.domain.errors import Fault
from service.domain.jobs.use import NONE, ONE, Use, sheet_taken
from service.domain.materials.catalogue import Catalogue, ItemCost
from service.domain.measure.money import Currency, Money
from service.domain.measure.rounding import excess, half_up, product, up_to_step
from service.domain.prices.lists import MARKUPS, PriceList, PriceRule
from service.domain.shop import Billing, PriceEnding, PriceLevel
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Slice:
    """The part of a quantity that falls in one bracket, at that bracket's rate."""

    quantity: Fraction
    rate: Fraction


@dataclass(init=False, slots=True, unsafe_hash=True)
class Line:
    """One priced line.

    Attributes:
        basis, quantity: the billed quantity of one piece; a markup uses the basis of the cost that
            it takes: the item's cost on the rule's basis, or else its first one.
        rate: money per unit, or the amount of the bracket (`whole`).
        slices: the parts of the quantity, for a `marginal` table.
        each: the amount of one piece, rounded.
        pieces: the job's quantity.
        amount: each × pieces + set-up.
        factor: of the price level, on the price of one piece and on the set-up.
    """

    component: Final[str]
    item: Final[str]
    description: Final[str]
    rule: Final[PriceRule]
    pointer: Final[str]
    layer: Final[int]
    basis: Final[str]
    quantity: Final[Fraction]
    rate: Final[Fraction]
    slices: Final[tuple[Slice, ...]]
    each: Final[Money]
    pieces: Final[int]
    set_up: Final[Money]
    amount: Final[Money]
    factor: Final[Fraction]

    def __init__(
        self,
        component: str,
        item: str,
        description: str,
        rule: PriceRule,
        pointer: str,
        layer: int,
        basis: str,
        quantity: Fraction,
        rate: Fraction,
        slices: tuple[Slice, ...],
        each: Money,
        pieces: int,
        set_up: Money,
        amount: Money,
        factor: Fraction = ONE,
    ) -> None:
        self.component = component
        self.item = item
        self.description = description
        self.rule = rule
        self.pointer = pointer
        self.layer = layer
        self.basis = basis
        self.quantity = quantity
        self.rate = rate
        self.slices = slices
        self.each = each
        self.pieces = pieces
        self.set_up = set_up
        self.amount = amount
        self.factor = factor

    @property
    def taxable(self) -> bool:
        """True if the line has a tax category."""
        return bool(self.rule.tax_category)


@dataclass(frozen=True, slots=True)
class Terms:
    """The pricing terms of a job: list, billing, costs, number of pieces, level and endings."""

    price_list: PriceList
    billing: Billing
    catalogue: Catalogue
    pieces: int
    level: PriceLevel | None = None
    ending: PriceEnding | None = None

    def factor(self, component: str) -> Fraction:
        """Return the price level's factor on a component."""
        return ONE if self.level is None else self.level.of(component)


def price_uses(uses: Iterable[Use], terms: Terms) -> tuple[list[Line], list[Fault]]:
    """Return the lines for what a job uses, and a fault for everything without a price."""
    lines: list[Line] = []
    faults: list[Fault] = []
    for use in uses:
        item = use.item
        rules = terms.price_list.rules_for(use.component, item.code, item.group, use.supply)
        if not rules:
            faults.append(_no_rule(use, terms.price_list))
        for rule in rules:
            basis, rate = rule.basis, rule.rate
            if rule.method in MARKUPS:
                known, quantity = cost_and_quantity(use, terms.billing, terms.catalogue, basis)
                if known is None:
                    faults.append(_no_cost(use, rule))
                    continue
                basis, rate = known.basis, product(known.cost, factor_of(rule, known.cost))
            else:
                quantity = use.quantity(basis, terms.billing)
            if not rule.plain and rule.above:
                quantity = excess(quantity, rule.above)
            if quantity:
                lines.append(_line(use, rule, terms, basis, rate, quantity))
    return lines, faults


def factor_of(rule: PriceRule, cost: Fraction) -> Fraction:
    """Return the factor by which a rule marks up a cost."""
    return _bracket(rule, cost) if rule.brackets else rule.rate


def _no_rule(use: Use, price_list: PriceList) -> Fault:
    return Fault(
        use.pointer,
        "not_priced",
        f"price list {price_list.code} has no price for {use.item.code} as {use.component}",
    )


def _no_cost(use: Use, rule: PriceRule) -> Fault:
    return Fault(
        use.pointer,
        "not_priced",
        f"rule {rule.code} marks up the cost of {use.item.code}, and no cost is known for it",
    )


def cost_of(use: Use, billing: Billing, catalogue: Catalogue) -> ItemCost | None:
    """Return the item's first cost on a basis that this use has a quantity on, or None."""
    return cost_and_quantity(use, billing, catalogue)[0]


def cost_and_quantity(
    use: Use, billing: Billing, catalogue: Catalogue, basis: str = ""
) -> tuple[ItemCost | None, Fraction]:
    """Return the cost of a use, and the quantity that it is for; None and 0 if there is none.

    It is the item's cost on `basis`, or else its first one that the use has a quantity on. A cost
    of a sheet counts for pieces cut from that sheet.
    """
    for cost in _in_order(catalogue.costs.get(use.item.code, ()), use, billing, basis):
        quantity = use.quantity(cost.basis, billing)
        if quantity:
            return cost, quantity
    return None, NONE


def _in_order(
    costs: tuple[ItemCost, ...], use: Use, billing: Billing, basis: str
) -> Sequence[ItemCost]:
    """Return costs with the one to take first; a stable order, those of other sheets last."""
    if len(costs) < 2 or (costs[0].sheet is None and basis in ("", costs[0].basis)):
        return costs
    taken = sheet_taken(use.item, use.size, billing, use.kerf) if use.size else None
    return sorted(costs, key=lambda c: (c.sheet not in (None, taken), c.basis != basis))


def _line(
    use: Use, rule: PriceRule, terms: Terms, basis: str, rate: Fraction, quantity: Fraction
) -> Line:
    item = use.item
    return price_line(
        rule,
        use.component,
        item.code,
        item.description,
        use.pointer,
        use.layer,
        basis,
        quantity,
        rate,
        terms.pieces,
        terms.price_list.currency,
        terms.factor(use.component),
        terms.ending,
    )


def price_line(
    rule: PriceRule,
    component: str,
    item: str,
    description: str,
    pointer: str,
    layer: int,
    basis: str,
    quantity: Fraction,
    rate: Fraction,
    pieces: int,
    currency: Currency,
    factor: Fraction = ONE,
    ending: PriceEnding | None = None,
) -> Line:
    """Return the line of a quantity priced by a rule, at a price level, with a price ending."""
    rate, slices, amount, per = _exact_amount(rule, rate, quantity)
    set_up = currency.nothing
    if not rule.plain:
        amount, per = _held_to(rule, amount, per)
        if rule.set_up:
            set_up = currency.half_up(rule.set_up * factor)
    if factor is not ONE:
        amount, per = amount * factor.numerator, per * factor.denominator
    minor = half_up(amount * currency.scale, per)
    if ending is not None:
        minor = ending.ended(minor, currency.scale)
    each = Money(minor, currency)
    whole = each if pieces == 1 and not set_up.minor else each * pieces + set_up
    return Line(
        component,
        item,
        description,
        rule,
        pointer,
        layer,
        basis,
        quantity,
        rate,
        slices,
        each,
        pieces,
        set_up,
        whole,
        factor,
    )


def _held_to(rule: PriceRule, amount: int, per: int) -> tuple[int, int]:
    """Return an amount, as a ratio, after applying the rule's minimum and rounding step."""
    if rule.least is not None:
        over, under = rule.least
        if amount * under < over * per:
            amount, per = over, under
    if rule.step is not None:
        over, under = rule.step
        amount, per = half_up(amount * under, per * over) * over, under
    return amount, per


def _exact_amount(
    rule: PriceRule, rate: Fraction, quantity: Fraction
) -> tuple[Fraction, tuple[Slice, ...], int, int]:
    """Return the rate, the slices of a marginal table, and the exact amount as a ratio."""
    if rule.method == "whole":
        rate = _bracket(rule, quantity)
        return rate, (), rate.numerator, rate.denominator
    if rule.method == "marginal":
        slices = tuple(_slices(rule, quantity))
        exact = sum((part.quantity * part.rate for part in slices), Fraction(0))
        last = slices[-1].rate if slices else rate
        return last, slices, exact.numerator, exact.denominator
    over, under = rate.as_integer_ratio()
    times, per = quantity.as_integer_ratio()
    return rate, (), over * times, under * per


def _bracket(rule: PriceRule, quantity: Fraction) -> Fraction:
    """Return the rate of the bracket that a quantity falls into."""
    over, under = quantity.as_integer_ratio()
    for bracket in rule.brackets:
        if bracket.up_to is None:
            return bracket.rate
        top, per = bracket.up_to.as_integer_ratio()
        if over * per <= top * under:
            return bracket.rate
    raise AssertionError("the last bracket of a rule has no end")


def _slices(rule: PriceRule, quantity: Fraction) -> Iterator[Slice]:
    below = Fraction(0)
    for bracket in rule.brackets:
        top = quantity if bracket.up_to is None else min(quantity, bracket.up_to)
        if top > below:
            yield Slice(top - below, bracket.rate)
            below = top


def price_labour(minutes: Fraction, terms: Terms) -> Line | None:
    """Return the bench minutes as one line if the list prices labour separately, else None."""
    rule = next(iter(terms.price_list.rules_for("labour", "", "")), None)
    if rule is None:
        return None
    quantity = up_to_step(minutes, terms.billing.minute_step)
    if rule.above:
        quantity = excess(quantity, rule.above)
    if not quantity:
        return None
    return price_line(
        rule=rule,
        component="labour",
        item="",
        description="Bench time",
        pointer="",
        layer=0,
        basis=rule.basis,
        quantity=quantity,
        rate=rule.rate,
        pieces=1,
        currency=terms.price_list.currency,
        factor=terms.factor("labour"),
        ending=terms.ending,
    )
