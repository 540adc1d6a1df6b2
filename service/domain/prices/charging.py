"""What a shop adds after its price list: price endings, and the minimum of an order.

Each is a line of its own, with a price and no rule of the list, so that every line can be checked
by hand. None of them is discounted, and each is taxed as what it adds to.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.jobs.job import PLAIN, Conditions
from service.domain.jobs.use import ONE
from service.domain.measure.money import Currency, Money
from service.domain.prices.lines import Line, price_line
from service.domain.prices.lists import PriceRule
from service.domain.prices.totals import FEE, JobMoney, what_is_left
from service.domain.shop import Shop

ORDER_MINIMUM, PRICE_ENDING = "order_minimum", "price_ending"
TOLD = {ORDER_MINIMUM: "Up to the least of an order", PRICE_ENDING: "Up to the price ending"}
Priced = tuple[Sequence[Line], JobMoney]


def job_ending(lines: Sequence[Line], shop: Shop, currency: Currency) -> list[Line]:
    """Return the lines that bring a job's subtotal to its price ending; none if it has none."""
    ending = shop.charging.ending_at("job")
    if ending is None:
        return []
    amounts = [(line.rule.tax_category, line.amount.minor) for line in lines]
    whole = sum(minor for _, minor in amounts)
    more = ending.ended(whole, currency.scale) - whole
    return list(_added(PRICE_ENDING, more, amounts, currency))


def order_lines(
    pairs: Sequence[Priced], shop: Shop, currency: Currency, conditions: Conditions = PLAIN
) -> list[Line]:
    """Return the lines that bring a document to the order's minimum, then to its price ending.

    Both go by what is left of it before tax, after all discounts.
    """
    charging = shop.charging
    minimum = (
        charging.order_minimum if currency.code == shop.currency else charging.order_minimum * 0
    )
    ending = charging.ending_at("order")
    if not minimum and ending is None:
        return []
    left = what_is_left(pairs, currency, conditions.discounts)
    amounts = list(zip(left.categories, left.minors, strict=True))
    whole = sum(minor for _, minor in amounts)
    least = currency.half_up(minimum).minor
    added = list(_added(ORDER_MINIMUM, least - whole if whole else 0, amounts, currency))
    if ending is not None:
        amounts += [(line.rule.tax_category, line.amount.minor) for line in added]
        whole = sum(minor for _, minor in amounts)
        more = ending.ended(whole, currency.scale) - whole
        added += _added(PRICE_ENDING, more, amounts, currency)
    return added


def _added(
    item: str, more: int, amounts: Sequence[tuple[str, int]], currency: Currency
) -> Iterator[Line]:
    """Yield a line for each tax category of what is added to, in proportion."""
    bases: dict[str, int] = {}
    for category, minor in amounts:
        bases[category] = bases.get(category, 0) + minor
    bases = {category: minor for category, minor in bases.items() if minor}
    if more <= 0 or not bases:
        return
    for category, share in zip(
        bases, Money(more, currency).shared(tuple(bases.values())), strict=True
    ):
        if share.minor:
            yield _line(item, share, category)


def _line(item: str, amount: Money, category: str) -> Line:
    rule = PriceRule(
        code="",
        component=FEE,
        basis="piece",
        method="rate",
        rate=amount.units(),
        tax_category=category,
    )
    return price_line(
        rule, FEE, item, TOLD[item], "", 0, "piece", ONE, amount.units(), 1, amount.currency
    )
