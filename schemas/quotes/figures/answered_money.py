"""Totals and the sale of a stored answer, as the domain's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, Estimate, JobEstimate, money_of, total_of
from service.domain.jobs.job import Conditions
from service.domain.measure.money import Currency
from service.domain.prices.discounts import Reduction
from service.domain.prices.tax import Tax
from service.domain.prices.totals import Totals, line_nets
from service.domain.quotes.sale import MILLION, Sale, SoldPart, UsedMaterial
from service.domain.shop import TaxRate

Told = Mapping[str, Any]


def totals_told(
    told: Told, jobs: Sequence[JobEstimate], basis: Basis, conditions: Conditions
) -> Totals:
    """Return the totals as they were answered."""
    try:
        now = total_of(jobs, basis, conditions)
    except JobRefused:  # a discount or a place of its day
        now = None
    currency = basis.price_list.currency
    if now is not None and _agree(now, told, currency):
        return now
    relief = told.get("tax_exempt", {}).get("tax_taken_out")
    reductions = tuple(
        Reduction(given, currency.of(off["base"]), currency.of(off["amount"]))
        for given, off in zip(conditions.discounts, told.get("discounts", ()), strict=False)
    )
    off = sum(reduction.amount.minor for reduction in reductions)
    nets = tuple((job.subtotal - job.discount).minor for job in jobs)
    return Totals(
        currency.of(told["subtotal"]),
        currency.of(told["discount"]),
        _tax(told, currency),
        currency.of(told["total"]),
        reductions,
        currency.minor(off).shared(nets) if reductions else (),
        None if relief is None else currency.of(relief),
    )


def _agree(now: Totals, told: Told, currency: Currency) -> bool:
    """Return True if totals are those that were answered."""
    taxes = [(tax["name"], tax["base"], tax["amount"]) for tax in told["taxes"]]
    return (
        now.subtotal == currency.of(told["subtotal"])
        and now.discount == currency.of(told["discount"])
        and now.total == currency.of(told["total"])
        and list(now.tax.unknown) == list(told["tax_unknown"])
        and [(t.name, t.base.text(), t.amount.text()) for t in now.tax.lines] == taxes
    )


def _tax(told: Told, currency: Currency) -> Tax:
    """Return the tax as it was answered: each rate's part is its amount."""
    exact = tuple(
        (
            TaxRate(category="", name=tax["name"], percent=Fraction(tax["percent"])),
            currency.of(tax["base"]).minor,
            currency.of(tax["amount"]).minor,
        )
        for tax in told["taxes"]
    )
    total = sum(amount for _, _, amount in exact)
    if told["tax"] is not None:
        total = currency.of(told["tax"]).minor
    return Tax(currency.minor(total), exact, tuple(told["tax_unknown"]), told["tax_included"])


def sale_told(estimate: Estimate, answer: Told, costs: Told) -> Sale:
    """Return what the sale would be by the answer: its amounts, its materials, its cost."""
    own = Currency(estimate.basis.shop.currency)
    cost = costs.get("cost")
    return Sale(
        total=estimate.totals.total,
        tax=estimate.totals.tax.total,
        own=own,
        cost=None if cost is None else own.of(cost),
        parts=_parts(estimate),
        materials=_materials(answer),
    )


def _parts(estimate: Estimate) -> tuple[SoldPart, ...]:
    lines = [line for job in estimate.jobs for line in job.lines]
    kept: dict[tuple[str, str], int] = {}
    for line, net in zip(lines, _nets(estimate), strict=True):
        key = line.component, line.item
        kept[key] = kept.get(key, 0) + net
    return tuple(SoldPart(*key, net) for key, net in kept.items())


def _nets(estimate: Estimate) -> Sequence[int]:
    """Return the net amount of every line; they add up to the total without tax."""
    pairs = [(job.lines, money_of(job)) for job in estimate.jobs]
    totals, taxation = estimate.totals, estimate.basis.shop.taxation
    try:
        nets = line_nets(pairs, totals, taxation, estimate.conditions)
    except JobRefused:
        nets = ()
    if sum(nets) == totals.net().minor and nets:
        return nets
    amounts = tuple(line.amount.minor for job in estimate.jobs for line in job.lines)
    if not any(amounts):
        return amounts
    return [share.minor for share in totals.net().shared(amounts)]


def _materials(answer: Told) -> tuple[UsedMaterial, ...]:
    used: dict[tuple[str, str], int] = {}
    for job in answer["jobs"]:
        for row in job["materials"]:
            key = row["item"], row["basis"]
            used[key] = used.get(key, 0) + int(Fraction(row["quantity"]) * MILLION)
    return tuple(UsedMaterial(*key, millionths) for key, millionths in used.items())
