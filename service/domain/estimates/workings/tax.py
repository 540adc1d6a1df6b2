"""Workings of the tax: its base, its amount and each rate's part; see `workings`."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.estimates.calculation import Estimate, priced_lines
from service.domain.estimates.workings.discounts import cent
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.measure.money import Money
from service.domain.prices.tax import Tax, tax_on
from service.domain.prices.totals import Left, left_by_category, taxation_at, what_is_left


def tax_workings(estimate: Estimate) -> Iterator[Working]:
    """Yield the workings from what is left of each line to the tax; if exempt, the tax removed."""
    basis, conditions = estimate.basis, estimate.conditions
    currency = basis.price_list.currency
    pairs = priced_lines(estimate.jobs, estimate.totals.lines, basis)
    left = what_is_left(pairs, currency, conditions.discounts)
    yield from _left(estimate, left)
    taxation = taxation_at(basis.shop.taxation, conditions.place)
    tax = tax_on(left_by_category(left, currency), taxation, currency)
    if not tax.exact or (conditions.exempt and not tax.included):
        return
    by_line = taxation.rounded == "line"
    formula, inputs = _by_line(tax, left, estimate) if by_line else _by_invoice(tax, estimate)
    figure = "totals/tax_exempt/tax_taken_out" if conditions.exempt else "totals/tax"
    yield Working(figure, formula, inputs, tax.total)
    if not conditions.exempt:
        yield from _bases(tax, left, estimate)
        yield from _shares(tax, cent(currency))


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


def _by_invoice(tax: Tax, estimate: Estimate) -> tuple[str, dict[str, Value]]:
    step = cent(estimate.basis.price_list.currency)
    return f"half_up({' + '.join(_parts(tax))}, {step})", _base_inputs(tax) | _rates(tax)


def _by_line(tax: Tax, left: Left, estimate: Estimate) -> tuple[str, dict[str, Value]]:
    step = cent(estimate.basis.price_list.currency)
    inputs, parts = _rates(tax), []
    for job, n, category, remains in _lines(left, estimate):
        mine = [f"rate_{at}" for at, (r, _, _) in enumerate(tax.exact) if r.category == category]
        if mine:
            inputs[f"line_{job}_{n}"] = remains
            whole = f"line_{job}_{n} * ({' + '.join(mine)}) / {_of(tax, category)}"
            parts.append(f"half_up({whole}, {step})")
    return " + ".join(parts), inputs


def _bases(tax: Tax, left: Left, estimate: Estimate) -> Iterator[Working]:
    """Yield the base of each rate: what is left of the lines of its category."""
    for at, ((rate, _, _), line) in enumerate(zip(tax.exact, tax.lines, strict=True)):
        inputs: dict[str, Value] = {
            f"line_{job}_{n}": remains
            for job, n, category, remains in _lines(left, estimate)
            if category == rate.category
        }
        yield Working(f"totals/taxes/{at}/base", " + ".join(inputs), inputs, line.base)


def _shares(tax: Tax, step: str) -> Iterator[Working]:
    """Yield the rounded tax split over its rates, odd cents by largest remainder."""
    parts, total = _parts(tax), sum(part for _, _, part in tax.exact)
    for at, (line, (_, _, part)) in enumerate(zip(tax.lines, tax.exact, strict=True)):
        inputs: dict[str, Value] = {"tax": tax.total}
        formula = "tax"
        if len(parts) > 1 and total:
            share = tax.total.minor * part // total
            inputs |= {**_base_inputs(tax), **_rates(tax)}
            inputs["odd_cent"] = Money(line.amount.minor - share, line.amount.currency)
            formula = f"down(tax * ({parts[at]}) / ({' + '.join(parts)}), {step}) + odd_cent"
        yield Working(f"totals/taxes/{at}/amount", formula, inputs, line.amount)
