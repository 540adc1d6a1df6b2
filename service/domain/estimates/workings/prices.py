"""Workings of a job's bench time and price, and of the inputs to both; see `workings`."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.estimates.calculation import Basis, Estimate, JobEstimate
from service.domain.estimates.costs import JobCost
from service.domain.estimates.workings.charging import job_ending_workings, order_workings
from service.domain.estimates.workings.discounts import (
    cent,
    discount_workings,
    document_discount_workings,
)
from service.domain.estimates.workings.sizes import Value, Working, size_workings
from service.domain.estimates.workings.tax import tax_workings
from service.domain.estimates.workings.use import measured, use_workings
from service.domain.estimates.workings.weight import weight_workings
from service.domain.labour.standard import OperationTime, Scaled
from service.domain.prices.lines import Line, factor_of
from service.domain.prices.lists import MARKUPS, WORK
from service.domain.prices.totals import FEE, SET_APART
from service.domain.shop import ASKED


def job_workings(done: JobEstimate, basis: Basis) -> Iterator[Working]:
    """Yield the working of every figure of one job, except costs."""
    yield from size_workings(done, basis.shop)
    yield from weight_workings(done)
    yield from use_workings(done, basis.shop)
    for time in done.times:
        yield from _operation(time)
    minutes: dict[str, Value] = {f"op_{at}": time.minutes for at, time in enumerate(done.times)}
    yield Working("labour/minutes", " + ".join(minutes) or "0", minutes, done.minutes)
    for position, line in enumerate(done.lines):
        yield from _line(line, f"lines/{position}", done, basis)
    yield from job_ending_workings(done, basis)
    amounts: dict[str, Value] = {f"line_{at}": line.amount for at, line in enumerate(done.lines)}
    yield Working("subtotal", " + ".join(amounts) or "0", amounts, done.subtotal)
    yield from discount_workings(done, basis.price_list.currency)


def total_workings(estimate: Estimate) -> Iterator[Working]:
    """Yield the workings of the document's totals."""
    totals = estimate.totals
    jobs: dict[str, Value] = {f"job_{at}": job.subtotal for at, job in enumerate(estimate.jobs)}
    for position, line in enumerate(totals.lines):
        yield from _line(line, f"lines/{position}", None, estimate.basis)
        jobs[f"line_{position}"] = line.amount
    yield Working("totals/subtotal", " + ".join(jobs), jobs, totals.subtotal)
    yield from order_workings(estimate)
    tax = totals.tax
    yield from tax_workings(estimate)
    yield from document_discount_workings(estimate)
    ends: dict[str, Value] = {"subtotal": totals.subtotal, "discount": totals.discount}
    if totals.relief is not None and tax.included:
        ends["relief"] = totals.relief
        yield Working("totals/total", "subtotal - discount - relief", ends, totals.total)
    elif tax.included:
        yield Working("totals/total", "subtotal - discount", ends, totals.total)
    else:
        ends["tax"] = tax.total
        yield Working("totals/total", "subtotal - discount + tax", ends, totals.total)


def cost_workings(cost: JobCost, done: JobEstimate, basis: Basis) -> Iterator[Working]:
    """Yield the workings of what a job costs the shop, for keys that may see costs."""
    for position, part in enumerate(cost.materials):
        if part.known is not None:
            inputs: dict[str, Value] = {
                "quantity": part.quantity,
                "pieces": part.pieces,
                "cost": part.known.cost,
            }
            formula = "quantity * pieces * cost"
            yield Working(f"costs/materials/{position}", formula, inputs, part.amount)
    hour: dict[str, Value] = {
        "minutes": done.minutes,
        "cost_per_hour": basis.standard.cost_per_hour,
    }
    yield Working("costs/labour", "minutes * cost_per_hour / 60", hour, cost.labour)


def _operation(time: OperationTime) -> Iterator[Working]:
    operation = time.operation
    where = f"labour/operations/{operation.code}"
    if isinstance(operation, Scaled):
        for name in ("set_up_minutes", "unit_minutes"):
            minutes = getattr(operation, name)
            plain: dict[str, Value] = {
                "plain": minutes / operation.factor,
                "multiplied_by": operation.factor,
            }
            yield Working(f"{where}/{name}", "plain * multiplied_by", plain, minutes)
    inputs: dict[str, Value] = {
        "set_up": operation.set_up_minutes,
        "unit_minutes": operation.unit_minutes,
        "units": time.units,
        "quantity": time.quantity,
    }
    formula = "set_up + unit_minutes * units * quantity"
    yield Working(where, formula, inputs, time.minutes)


def _line(line: Line, where: str, done: JobEstimate | None, basis: Basis) -> Iterator[Working]:
    rule, step = line.rule, cent(basis.price_list.currency)
    yield from _counted(line, where, done, basis)
    yield from _marked_up(line, where, basis)
    inputs: dict[str, Value] = {"quantity": line.quantity, "rate": line.rate}
    formula = "rate" if rule.method == "whole" else "quantity * rate"
    if line.slices:
        inputs = {}
        for at, part in enumerate(line.slices):
            inputs |= {f"quantity_{at}": part.quantity, f"rate_{at}": part.rate}
        formula = " + ".join(f"quantity_{at} * rate_{at}" for at in range(len(line.slices)))
    if rule.minimum:
        formula, inputs = f"max({formula}, minimum)", inputs | {"minimum": rule.minimum}
    if rule.rounding_step:
        formula, inputs = f"half_up({formula}, step)", inputs | {"step": rule.rounding_step}
    if line.factor != 1:
        formula, inputs = f"({formula}) * level", inputs | {"level": line.factor}
        if rule.set_up:
            more: dict[str, Value] = {"set_up": rule.set_up, "level": line.factor}
            yield Working(f"{where}/set_up", f"half_up(set_up * level, {step})", more, line.set_up)
    formula = f"half_up({formula}, {step})"
    ending = basis.shop.charging.ending_at("line")
    if ending is not None and rule.code and rule.component not in SET_APART and line.each.minor:
        formula = f"up({formula} - ending, ending_step) + ending"
        inputs |= {"ending": ending.ending, "ending_step": ending.step}
    yield Working(f"{where}/each", formula, inputs, line.each)
    ends: dict[str, Value] = {"each": line.each, "pieces": line.pieces, "set_up": line.set_up}
    yield Working(f"{where}/amount", "each * pieces + set_up", ends, line.amount)


def _counted(line: Line, where: str, done: JobEstimate | None, basis: Basis) -> Iterator[Working]:
    """Yield the quantity of a line that bills bench time or a fee, or includes free units."""
    above = line.rule.above
    if done is not None and line.component == "labour":
        formula = "up(minutes, step)"
        minutes = sum((t.minutes for t in done.times if t.operation.driver != ASKED), Fraction(0))
        inputs: dict[str, Value] = {"minutes": minutes, "step": basis.shop.billing.minute_step}
    elif done is not None and line.rule.code and (line.component == FEE or _by_size(line)):
        formula, inputs = measured(line.basis, done.sizes.ordered, basis.shop.billing)
    else:
        formula, inputs = "billed", {"billed": line.quantity + above}
        if not above:
            return
    if above:
        formula, inputs = f"{formula} - above", {**inputs, "above": above}
    yield Working(f"{where}/quantity", formula, inputs, line.quantity)


def _by_size(line: Line) -> bool:
    return line.component == WORK and line.basis != "piece"


def _marked_up(line: Line, where: str, basis: Basis) -> Iterator[Working]:
    """Yield the rate of a line priced by markup on cost."""
    if line.rule.method not in MARKUPS:
        return
    for each in basis.catalogue.costs.get(line.item, ()):
        factor = factor_of(line.rule, each.cost)
        if each.basis == line.basis and each.cost * factor == line.rate:
            inputs: dict[str, Value] = {"cost": each.cost, "factor": factor}
            yield Working(f"{where}/rate", "cost * factor", inputs, line.rate)
            return
