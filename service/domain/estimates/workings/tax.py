"""Workings of the tax: its base, its amount and each rate's part; see `workings`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from service.domain.estimates.calculation import Estimate, priced_lines
from service.domain.estimates.workings.discounts import cent
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.measure.money import Money
from service.domain.prices.tax import Tax, tax_on
from service.domain.prices.totals import Left, left_by_category, taxation_at, what_is_left
from service.domain.shop import Taxation


def tax_workings(estimate: Estimate) -> Iterator[Working]:
    """Yield the workings from what is left of each line to the tax; if exempt, the tax removed."""
    basis, conditions = estimate.basis, estimate.conditions
    currency = basis.price_list.currency
    pairs = priced_lines(estimate.jobs, estimate.totals.lines, basis)
    left = what_is_left(pairs, currency, conditions.discounts)
    yield from _left(estimate, left)
    taxation = taxation_at(basis.shop.taxation, conditions.place)
    tax = tax_on(left_by_category(left, currency), taxation, currency)
    if conditions.exempt:
        if tax.exact and tax.included and estimate.totals.relief is not None:
            yield from _removed(tax, estimate.totals.relief, left, estimate, taxation)
        return
    if tax.exact:
        yield from _bases(tax, left, estimate)
        yield from _taken(tax, estimate.totals.tax, left, estimate, taxation)


def _removed(
    tax: Tax, relief: Money, left: Left, estimate: Estimate, taxation: Taxation
) -> Iterator[Working]:
    """Yield the tax that the prices include, rate by rate, and that an exempt customer saves."""
    formulas = [_rounded(tax, at, left, estimate, taxation) for at in _rows(tax, taxation)]
    inputs = {name: value for _, given in formulas for name, value in given.items()}
    formula = " + ".join(formula for formula, _ in formulas)
    yield Working("totals/tax_exempt/tax_taken_out", formula, inputs, relief)


def _rows(tax: Tax, taxation: Taxation) -> list[tuple[int, ...]]:
    """Return which rates are rounded together: each by itself, or all of them."""
    each = range(len(tax.exact))
    return [(at,) for at in each] if taxation.rates_rounded == "each" else [tuple(each)]


def _taken(
    tax: Tax, printed: Tax, left: Left, estimate: Estimate, taxation: Taxation
) -> Iterator[Working]:
    """Yield the tax, and each rate's part of it."""
    if taxation.rates_rounded == "each":
        amounts: dict[str, Value] = {}
        for at, line in enumerate(printed.lines[: len(tax.exact)]):
            formula, inputs = _rounded(tax, (at,), left, estimate, taxation)
            yield Working(f"totals/taxes/{at}/amount", formula, inputs, line.amount)
            amounts[f"amount_{at}"] = line.amount
        yield Working("totals/tax", " + ".join(amounts), amounts, printed.total)
        return
    every = tuple(range(len(tax.exact)))
    yield Working("totals/tax", *_rounded(tax, every, left, estimate, taxation), printed.total)
    yield from _shares(tax, printed, cent(estimate.basis.price_list.currency))


def _rounded(
    tax: Tax, rates: Sequence[int], left: Left, estimate: Estimate, taxation: Taxation
) -> tuple[str, dict[str, Value]]:
    """Return the tax at some rates, rounded together once per invoice or line by line."""
    step = cent(estimate.basis.price_list.currency)
    if taxation.rounded == "line":
        return _by_line(tax, rates, left, estimate, f"{taxation.rounding}({{}}, {step})")
    parts = [_parts(tax)[at] for at in rates]
    inputs = _only(_base_inputs(tax) | _rates(tax), parts)
    return f"{taxation.rounding}({' + '.join(parts)}, {step})", inputs


def _only(inputs: dict[str, Value], parts: Sequence[str]) -> dict[str, Value]:
    """Return the inputs that some formulas name."""
    named = set(re.findall(r"[a-z_]+[0-9_]*", " ".join(parts)))
    return {name: value for name, value in inputs.items() if name in named}


def _lines(left: Left, estimate: Estimate) -> Iterator[tuple[int, int, str, Money]]:
    """Yield job, line, tax category and remaining amount of every line."""
    currency = estimate.basis.price_list.currency
    ends = [*left.starts[1:], len(left.minors)]
    for job, (start, end) in enumerate(zip(left.starts, ends, strict=True)):
        for place in range(start, end):
            yield job, place - start, left.categories[place], currency.minor(left.minors[place])


def _left(estimate: Estimate, left: Left) -> Iterator[Working]:
    """Yield what is left of each discounted line; odd cents by largest remainder."""
    for job, n, _, remains in _lines(left, estimate):
        if job == len(estimate.jobs):
            return  # the document's own lines are never discounted
        amount = estimate.jobs[job].lines[n].amount
        if remains != amount:
            inputs: dict[str, Value] = {"amount": amount, "off": amount - remains}
            yield Working(f"jobs/{job}/lines/{n}/left", "amount - off", inputs, remains)


def _rates(tax: Tax) -> dict[str, Value]:
    return {f"rate_{at}": rate.percent for at, (rate, _, _) in enumerate(tax.exact)}


def _of(tax: Tax, category: str) -> str:
    """Return the divisor of a category's percentages: 100, or 100 plus its rates if included."""
    mine = [f"rate_{at}" for at, (rate, _, _) in enumerate(tax.exact) if rate.category == category]
    return f"(100 + {' + '.join(mine)})" if tax.included else "100"


def _parts(tax: Tax) -> list[str]:
    """Return each rate's exact part of the tax."""
    return [
        f"base_{at} * rate_{at} / {_of(tax, rate.category)}"
        for at, (rate, _, _) in enumerate(tax.exact)
    ]


def _base_inputs(tax: Tax) -> dict[str, Value]:
    return {f"base_{at}": line.base for at, line in enumerate(tax.lines)}


def _by_line(
    tax: Tax, rates: Sequence[int], left: Left, estimate: Estimate, rounded: str
) -> tuple[str, dict[str, Value]]:
    """Return the tax at some rates; `rounded` is the rounding of one line's tax."""
    inputs, parts = {}, []
    for job, n, category, remains in _lines(left, estimate):
        mine = [f"rate_{at}" for at in rates if tax.exact[at][0].category == category]
        if mine:
            inputs[f"line_{job}_{n}"] = remains
            whole = f"line_{job}_{n} * ({' + '.join(mine)}) / {_of(tax, category)}"
            parts.append(rounded.format(whole))
    return " + ".join(parts), _only(_rates(tax), parts) | inputs


def _bases(tax: Tax, left: Left, estimate: Estimate) -> Iterator[Working]:
    """Yield the base of each rate: what is left of the lines of its category."""
    for at, ((rate, _, _), line) in enumerate(zip(tax.exact, tax.lines, strict=True)):
        inputs: dict[str, Value] = {
            f"line_{job}_{n}": remains
            for job, n, category, remains in _lines(left, estimate)
            if category == rate.category
        }
        yield Working(f"totals/taxes/{at}/base", " + ".join(inputs), inputs, line.base)


def _shares(tax: Tax, printed: Tax, step: str) -> Iterator[Working]:
    """Yield the rounded tax split over its rates, odd cents by largest remainder."""
    parts, total = _parts(tax), sum(part for _, _, part in tax.exact)
    for at, (line, (_, _, part)) in enumerate(zip(printed.lines, tax.exact, strict=False)):
        inputs: dict[str, Value] = {"tax": printed.total}
        formula = "tax"
        if len(parts) > 1 and total:
            share = printed.total.minor * part // total
            inputs |= {**_base_inputs(tax), **_rates(tax)}
            inputs["odd_cent"] = Money(line.amount.minor - share, line.amount.currency)
            formula = f"down(tax * ({parts[at]}) / ({' + '.join(parts)}), {step}) + odd_cent"
        yield Working(f"totals/taxes/{at}/amount", formula, inputs, line.amount)
