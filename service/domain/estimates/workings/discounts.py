"""Workings of discounts and fees; see `workings`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from service.domain.estimates.calculation import Estimate, JobEstimate
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.measure.money import Currency, Money
from service.domain.prices.discounts import Reduction
from service.domain.prices.totals import SET_APART


def discount_workings(done: JobEstimate, currency: Currency) -> Iterator[Working]:
    """Yield the discounts of a job: its quantity break, then its own discounts one by one."""
    if not done.left:
        off: dict[str, Value] = {"subtotal": done.subtotal, "percent_off": done.percent_off}
        formula = f"half_up(subtotal * percent_off / 100, {cent(currency)})"
        yield Working("discount", formula, off, done.discount)
        return
    fees = {
        f"{line.component}_{at}": line.amount
        for at, line in enumerate(done.lines)
        if line.component in SET_APART
    }
    goods = done.subtotal - _sum(tuple(fees.values()), currency)
    inputs: dict[str, Value] = {"subtotal": done.subtotal, **fees}
    yield Working("goods", " - ".join(inputs), inputs, goods)
    by_hand = _sum([reduction.amount for reduction in done.reductions], currency)
    quantity_break = done.discount - by_hand
    inputs = {"goods": goods, "percent_off": done.percent_off}
    formula = f"half_up(goods * percent_off / 100, {cent(currency)})"
    yield Working("quantity_break", formula, inputs, quantity_break)
    yield from _reductions(done.reductions, "discounts", currency)
    parts: dict[str, Value] = {"quantity_break": quantity_break}
    parts |= {f"discount_{at}": part.amount for at, part in enumerate(done.reductions)}
    yield Working("discount", " + ".join(parts), parts, done.discount)


def document_discount_workings(estimate: Estimate) -> Iterator[Working]:
    """Yield the discounts of the whole document."""
    currency = estimate.basis.price_list.currency
    yield from _reductions(estimate.totals.reductions, "totals/discounts", currency)
    parts: dict[str, Value] = {f"job_{at}": job.discount for at, job in enumerate(estimate.jobs)}
    named = enumerate(estimate.totals.reductions)
    parts |= {f"discount_{at}": reduction.amount for at, reduction in named}
    yield Working("totals/discount", " + ".join(parts), parts, estimate.totals.discount)


def _reductions(
    reductions: Sequence[Reduction], where: str, currency: Currency
) -> Iterator[Working]:
    """Yield each discount; `base` is what remained of the lines that it applies to."""
    for at, reduction in enumerate(reductions):
        discount = reduction.discount
        if discount.percent is not None:
            inputs: dict[str, Value] = {"base": reduction.base, "percent": discount.percent}
            formula = f"half_up(base * percent / 100, {cent(currency)})"
        elif discount.coupon:
            given = currency.half_up(discount.amount or Fraction(0))
            inputs, formula = {"base": reduction.base, "given": given}, "min(given, base)"
        else:
            inputs, formula = {"given": reduction.amount}, "given"
        yield Working(f"{where}/{at}/amount", formula, inputs, reduction.amount)


def _sum(amounts: Sequence[Money], currency: Currency) -> Money:
    return currency.minor(sum(amount.minor for amount in amounts))


def cent(currency: Currency) -> str:
    """Return one minor unit as a rounding step, for example 0.01."""
    return f"0.{'1'.rjust(currency.digits, '0')}" if currency.digits else "1"
