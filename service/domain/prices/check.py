"""Checks a price list against the shop's own catalogue before it is published.

`price_list` itself ensures that brackets rise without gaps and that no two rules price the same
thing; the checks here need the items, their costs and common sizes. The sizes and runs tried are
those of trade charts and ready-made frames (8x10, 11x14, 16x20, 20x24, 24x36, 32x40 in; 4, 10 and
20 ft).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Literal

from service.domain.jobs.use import Use
from service.domain.materials.catalogue import (
    SPACER_GROUP,
    AnyItem,
    Board,
    Catalogue,
    Consumable,
    Fillet,
    Glazing,
    Hardware,
    Moulding,
)
from service.domain.measure.length import Length, Size
from service.domain.measure.money import Money
from service.domain.prices.lines import Terms, cost_and_quantity, cost_of, price_uses
from service.domain.prices.lists import MARKUPS, SERVICE, WORK, PriceList, PriceRule
from service.domain.shop import Method, Shop
from service.domain.value import dataclass

Severity = Literal["error", "warning"]
SIZES = tuple(
    Size(Length.inches(width), Length.inches(height))
    for width, height in ((8, 10), (11, 14), (16, 20), (20, 24), (24, 36), (32, 40))
)
FEET = (4, 10, 20)
BOARD_USES = {"mat": "mat", "mount": "mounting", "backing": "backing"}


@dataclass(frozen=True, slots=True)
class Finding:
    """One problem found: a stable code, its severity, the rule or item, and a description."""

    code: str
    severity: Severity
    rule: str
    item: str
    detail: str


def check_prices(price_list: PriceList, shop: Shop, catalogue: Catalogue) -> tuple[Finding, ...]:
    """Return all problems: rules first, then items sorted by code."""
    findings = [*_rules(price_list, shop, catalogue)]
    for code in sorted(catalogue.items):
        item = catalogue.items[code]
        if not item.discontinued:
            findings += _item(item, Terms(price_list, shop.billing, catalogue, 1), shop)
    return tuple(findings)


def _rules(price_list: PriceList, shop: Shop, catalogue: Catalogue) -> Iterator[Finding]:
    foreign = price_list.currency.code != shop.currency
    groups = {item.group for item in catalogue.items.values()}
    for rule in price_list.rules:
        if rule.component not in ("fee", SERVICE, WORK):
            if rule.item and rule.item not in catalogue.items:
                told = f"there is no item {rule.item}"
                yield Finding("unknown_item", "warning", rule.code, rule.item, told)
            if rule.group and rule.group not in groups:
                told = f"no item is in the group {rule.group}"
                yield Finding("unused_group", "warning", rule.code, "", told)
        if foreign and rule.method in MARKUPS:
            told = f"costs are in {shop.currency}, and this list is in {price_list.currency.code}"
            yield Finding("cost_in_other_currency", "error", rule.code, "", told)
        yield from _falls(rule)
    if price_list.currency.code == "JPY" and shop.taxation.rounded == "line":
        told = "Japan allows one rounding of tax per invoice and rate, and none per line"
        yield Finding("tax_by_line", "warning", "", "", told)
    if not price_list.rules_for("labour", "", ""):
        told = "bench time has no price of its own; it must be in the other prices"
        yield Finding("no_labour", "warning", "", "", told)


def _falls(rule: PriceRule) -> Iterator[Finding]:
    """Yield brackets where a larger piece costs less than a smaller one; only with `whole`."""
    if rule.method != "whole":
        return
    for smaller, larger in zip(rule.brackets, rule.brackets[1:], strict=False):
        if larger.rate < smaller.rate:
            told = f"above {smaller.up_to} the amount falls from {smaller.rate} to {larger.rate}"
            yield Finding("bracket_falls", "warning", rule.code, "", told)


def _item(item: AnyItem, terms: Terms, shop: Shop) -> Iterator[Finding]:
    for component, supply in _places(item, shop):
        uses = tuple(_uses(item, component, supply))
        rules = terms.price_list.rules_for(component, item.code, item.group, supply)
        way = f"{component}{f' as {supply}' if supply else ''}"
        if not rules:
            yield Finding("no_price", "error", "", item.code, f"it has no price as {way}")
        elif terms.price_list.currency.code == shop.currency:
            yield from _costs(item, rules, uses, way, terms)


def _costs(
    item: AnyItem, rules: Sequence[PriceRule], uses: Sequence[Use], way: str, terms: Terms
) -> Iterator[Finding]:
    for rule in rules:
        if rule.method in MARKUPS and not any(_cost(use, terms) for use in uses):
            told = f"it is marked up as {way}, and no cost is known for it"
            yield Finding("no_cost", "error", rule.code, item.code, told)
            return
        yield from _marked_up(item, rule, uses, way, terms)
    yield from _falls_by_sheet(item, way, terms)
    currency = terms.price_list.currency
    for use in uses:
        cost = _cost(use, terms)
        lines, _ = price_uses([use], terms)
        price = currency.minor(sum(line.amount.minor for line in lines))
        if cost is not None and lines and price.units() < cost:
            costs = currency.half_up(cost).text()
            told = f"as {way}, {_use_text(use)}: the price is {price.text()}, the cost {costs}"
            yield Finding("under_cost", "error", lines[0].rule.code, item.code, told)
            return  # one size is enough; reporting all would be noise


def _marked_up(
    item: AnyItem, rule: PriceRule, uses: Sequence[Use], way: str, terms: Terms
) -> Iterator[Finding]:
    """Yield a markup that takes a cost on another basis than the rule's, as there is none on it."""
    if rule.method not in MARKUPS:
        return
    for use in uses:
        known, _ = cost_and_quantity(use, terms.billing, terms.catalogue, rule.basis)
        if known is not None and known.basis != rule.basis:
            told = f"as {way} it marks up the cost by {known.basis}: none by {rule.basis} is known"
            yield Finding("markup_of_other_cost", "warning", rule.code, item.code, told)
            return


def _falls_by_sheet(item: AnyItem, way: str, terms: Terms) -> Iterator[Finding]:
    """Yield the first piece that costs more than one that is an inch wider, of a larger sheet."""
    if not isinstance(item, Board | Glazing):
        return
    component = way.split(maxsplit=1)[0]
    for sheet in item.by_area[:-1]:
        usable = sheet.grown(-2 * item.edge_trim)
        for inches in range(1, int(usable.height.in_inches()) + 1):
            height = Length.inches(inches)
            smaller, larger = (
                Use(component, item, "", size=Size(width, height), openings=1)
                for width in (usable.width, usable.width + Length.inches(1))
            )
            (before, rule), (after, _) = _priced(smaller, terms), _priced(larger, terms)
            if rule is not None and after < before:
                told = f"as {way}, {_use_text(smaller)}: the price is {before.text()}, and "
                told += f"{after.text()} one inch wider"
                yield Finding("larger_is_cheaper", "warning", rule.code, item.code, told)
                return


def _priced(use: Use, terms: Terms) -> tuple[Money, PriceRule | None]:
    lines, _ = price_uses([use], terms)
    minor = sum(line.amount.minor for line in lines)
    return terms.price_list.currency.minor(minor), lines[0].rule if lines else None


def _cost(use: Use, terms: Terms) -> Fraction | None:
    known = cost_of(use, terms.billing, terms.catalogue)
    return None if known is None else known.cost * use.quantity(known.basis, terms.billing)


def _places(item: AnyItem, shop: Shop) -> Iterator[tuple[str, str]]:
    """Yield every component that an item can be used as, with every way it is supplied."""
    if isinstance(item, Moulding):
        yield from (("frame", supply) for supply in item.supplies)
    elif isinstance(item, Board):
        yield from ((BOARD_USES[use], "") for use in item.uses)
    elif isinstance(item, Consumable):
        for component, methods in (("mounting", shop.mounting), ("finishing", shop.finishing)):
            if _is_used(item, methods) or (item.group, component) == (SPACER_GROUP, "finishing"):
                yield component, ""
    elif isinstance(item, Glazing):
        yield "glazing", ""
    elif isinstance(item, Fillet):
        yield "fillet", ""
    elif isinstance(item, Hardware):
        yield "hardware", ""


def _is_used(item: AnyItem, methods: Sequence[Method]) -> bool:
    return any(use.item == item.code for method in methods for use in method.uses)


def _uses(item: AnyItem, component: str, supply: str) -> Iterator[Use]:
    """Yield the item as jobs use it, in the sizes tried."""
    if isinstance(item, Board | Glazing):
        turned = not (isinstance(item, Board) and item.grain)
        for size in SIZES:
            if any(size.fits_in(sheet, turned=turned) for sheet in item.sheets):
                yield Use(component, item, "", size=size)
    elif isinstance(item, Moulding | Fillet):
        for feet in FEET:
            yield Use(component, item, "", footage=Length.inches(12 * feet), supply=supply)
    else:
        yield Use(component, item, "", feet=Fraction(4), area=Fraction(4))


def _use_text(use: Use) -> str:
    if use.size is not None:
        width, height = use.size.width.in_inches(), use.size.height.in_inches()
        return f"{width} x {height} in"
    return f"{use.footage.in_feet()} ft" if use.footage is not None else "4 of it"
