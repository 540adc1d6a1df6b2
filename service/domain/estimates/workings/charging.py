"""Workings of price endings and of an order's minimum; see `workings`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.estimates.calculation import Basis, Estimate, JobEstimate, priced_lines
from service.domain.estimates.workings.discounts import cent
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.measure.money import Currency, Money
from service.domain.prices.charging import ORDER_MINIMUM, PRICE_ENDING
from service.domain.prices.lines import Line
from service.domain.prices.totals import what_is_left
from service.domain.shop import PriceEnding

Amounts = list[tuple[str, int]]
"""Tax category and amount of each line that is added to."""


def job_ending_workings(done: JobEstimate, basis: Basis) -> Iterator[Working]:
    """Yield the lines that bring a job's subtotal to its price ending."""
    ending = basis.shop.charging.ending_at("job")
    if ending is not None:
        amounts = [_amount(line) for line in done.lines if not _is(line, PRICE_ENDING)]
        yield from _rows(done.lines, PRICE_ENDING, amounts, *_ended(ending), basis)


def order_workings(estimate: Estimate) -> Iterator[Working]:
    """Yield the lines that bring a document to the order's minimum, and to its price ending."""
    basis, lines = estimate.basis, estimate.totals.lines
    charging, currency = basis.shop.charging, basis.price_list.currency
    added = ORDER_MINIMUM, PRICE_ENDING
    before = [line for line in lines if not _is(line, *added)]
    pairs = priced_lines(estimate.jobs, before, basis)
    left = what_is_left(pairs, currency, estimate.conditions.discounts)
    amounts = list(zip(left.categories, left.minors, strict=True))
    least: dict[str, Value] = {"minimum": charging.order_minimum}
    yield from _rows(lines, ORDER_MINIMUM, amounts, "minimum - left", least, basis)
    ending = charging.ending_at("order")
    if ending is not None:
        amounts += [_amount(line) for line in lines if _is(line, ORDER_MINIMUM)]
        yield from _rows(lines, PRICE_ENDING, amounts, *_ended(ending), basis)


def _is(line: Line, *items: str) -> bool:
    return not line.rule.code and line.item in items


def _amount(line: Line) -> tuple[str, int]:
    return line.rule.tax_category, line.amount.minor


def _ended(ending: PriceEnding) -> tuple[str, dict[str, Value]]:
    inputs: dict[str, Value] = {"ending": ending.ending, "step": ending.step}
    return "up(left - ending, step) + ending - left", inputs


def _rows(
    lines: Sequence[Line],
    item: str,
    amounts: Amounts,
    missing: str,
    inputs: dict[str, Value],
    basis: Basis,
) -> Iterator[Working]:
    """Yield what each line adds: what is missing, shared over the tax categories."""
    currency = basis.price_list.currency
    whole = sum(minor for _, minor in amounts)
    rows = [(at, line) for at, line in enumerate(lines) if _is(line, item)]
    added = sum(line.amount.minor for _, line in rows)
    for at, line in rows:
        given = {**inputs, "left": currency.minor(whole)}
        formula = missing
        base = sum(minor for name, minor in amounts if name == line.rule.tax_category)
        if base != whole:
            odd = _odd(line, added * base // whole, currency)
            given |= {"base": currency.minor(base), "odd_cent": odd}
            formula = f"down(({missing}) * base / left, {cent(currency)}) + odd_cent"
        yield Working(f"lines/{at}/rate", formula, given, line.amount)


def _odd(line: Line, share: int, currency: Currency) -> Money:
    return currency.minor(line.amount.minor - share)
