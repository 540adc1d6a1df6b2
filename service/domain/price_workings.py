"""Workings of a job's material, weight, bench time and price; see `workings`."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.catalogue import Board
from service.domain.costs import JobCost
from service.domain.discount_workings import (
    cent,
    discount_workings,
    document_discount_workings,
)
from service.domain.estimate import Basis, Estimate, JobEstimate
from service.domain.frame import FrameSizes
from service.domain.labour import OperationTime, Scaled
from service.domain.measure.length import Size
from service.domain.money import Currency
from service.domain.pricing import Line
from service.domain.shop import Billing
from service.domain.use import Use, stock_sheet
from service.domain.weight import frame_parts_mg, in_kg, parts_mg
from service.domain.workings import Value, Working, size_workings


def job_workings(done: JobEstimate, basis: Basis) -> Iterator[Working]:
    """Every figure of one job, costs left out."""
    yield from size_workings(done, basis.shop)
    yield from _weight(done)
    for use in done.uses:
        yield from _use(use, basis.shop.billing)
    for time in done.times:
        yield from _operation(time)
    minutes: dict[str, Value] = {f"op_{at}": time.minutes for at, time in enumerate(done.times)}
    yield Working("labour/minutes", " + ".join(minutes) or "0", minutes, done.minutes)
    currency = basis.price_list.currency
    for position, line in enumerate(done.lines):
        yield from _line(line, position, currency, done, basis.shop.billing)
    amounts: dict[str, Value] = {f"line_{at}": line.amount for at, line in enumerate(done.lines)}
    yield Working("subtotal", " + ".join(amounts) or "0", amounts, done.subtotal)
    yield from discount_workings(done, currency)


def total_workings(estimate: Estimate) -> Iterator[Working]:
    """The totals of the document."""
    totals, currency = estimate.totals, estimate.basis.price_list.currency
    jobs: dict[str, Value] = {f"job_{at}": job.subtotal for at, job in enumerate(estimate.jobs)}
    yield Working("totals/subtotal", " + ".join(jobs), jobs, totals.subtotal)
    tax = totals.tax
    if estimate.basis.shop.taxation.rounded == "invoice" and not tax.included and tax.lines:
        bases: dict[str, Value] = {f"base_{at}": line.base for at, line in enumerate(tax.lines)}
        rates: dict[str, Value] = {f"rate_{at}": line.percent for at, line in enumerate(tax.lines)}
        products = " + ".join(f"base_{at} * rate_{at} / 100" for at in range(len(tax.lines)))
        yield Working(
            "totals/tax", f"half_up({products}, {cent(currency)})", bases | rates, tax.total
        )
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
    """What a job costs the shop, for those who may see it."""
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


def _weight(done: JobEstimate) -> Iterator[Working]:
    parts = [*parts_mg(done.job, done.sizes), *frame_parts_mg(done.sizes)]
    for pointer, milligrams in parts:
        known = _weight_formula(done, pointer)
        if known:
            formula, inputs = known
            yield Working(f"weight{pointer}", formula, inputs, in_kg(milligrams))
    kilograms: dict[str, Value] = {f"part_{at}": in_kg(mg) for at, (_, mg) in enumerate(parts)}
    yield Working("weight", " + ".join(kilograms) or "0", kilograms, in_kg(done.weight_mg))


def _weight_formula(done: JobEstimate, pointer: str) -> tuple[str, dict[str, Value]] | None:
    """kg, to the milligram. 1 in² = 0.00064516 m², 1 in³ = 0.000016387064 m³, 1 in = 0.0254 m."""
    job, package = done.job, done.sizes.package
    if pointer == "/glazing" and job.glazing and package:
        sheet = job.glazing.sheet
        inputs: dict[str, Value] = {
            **_sides(package),
            "thickness": sheet.thickness,
            "density": sheet.density,
        }
        return "half_up(width * height * thickness * 0.000016387064 * density, 0.000001)", inputs
    board = {"/mounting": job.mount, "/backing": job.backing}.get(pointer)
    if isinstance(board, Board) and package:
        inputs = {**_sides(package), "weight": board.weight_kg_per_m2}
        return "half_up(width * height * 0.00064516 * weight, 0.000001)", inputs
    if pointer.startswith("/frames/") and not pointer.endswith("fillet"):
        return _rails_formula(done.sizes.frames[int(pointer.split("/")[2])])
    return None


def _rails_formula(frame: FrameSizes) -> tuple[str, dict[str, Value]]:
    inputs: dict[str, Value] = {
        "rails": frame.rail_length(),
        "weight": frame.frame.moulding.weight_kg_per_m,
    }
    return "half_up(rails * 0.0254 * weight, 0.000001)", inputs


def _sides(size: Size) -> dict[str, Value]:
    return {"width": size.width, "height": size.height}


def _use(use: Use, billing: Billing) -> Iterator[Working]:
    """The billed quantities of one use of material on the bases that have one."""
    where = f"materials{use.pointer}"
    if use.size is not None:
        sides = _sides(use.size)
        yield from _sheet_measures(use, use.size, billing, where)
        step: dict[str, Value] = {"step": billing.perimeter_foot_step}
        feet = use.quantity("perimeter_foot", billing)
        formula = "up(2 * (width + height) / 12, step)"
        yield Working(f"{where}/perimeter_foot", formula, sides | step, feet)
    exact = use.exact_feet()
    if exact is not None:
        bounds = {"step": billing.linear_foot_step, "minimum": billing.linear_foot_minimum}
        run: dict[str, Value] = {"feet": exact} if use.footage is None else {"run": use.footage}
        formula = f"max(up({'feet' if use.footage is None else 'run / 12'}, step), minimum)"
        result = use.quantity("linear_foot", billing)
        yield Working(f"{where}/linear_foot", formula, run | bounds, result)


def _sheet_measures(use: Use, size: Size, billing: Billing, where: str) -> Iterator[Working]:
    sides = _sides(size)
    formula = "up(width + height, 1)"
    if billing.united_inches == "sides":
        formula = "up(width, 1) + up(height, 1)"
    yield Working(f"{where}/united_inch", formula, sides, use.quantity("united_inch", billing))
    inputs = sides | {"step": billing.square_foot_step, "minimum": billing.square_foot_minimum}
    result = use.quantity("square_foot", billing)
    formula = "max(up(width * height / 144, step), minimum)"
    yield Working(f"{where}/square_foot", formula, inputs, result)
    sheet, share = stock_sheet(use.item, size), use.quantity("sheet", billing)
    if sheet is not None:
        given = sides | {"sheet_width": sheet.width, "sheet_height": sheet.height, "sold": share}
        formula = "max(sold, width * height / (sheet_width * sheet_height))"
        yield Working(f"{where}/sheet", formula, given, share)


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


def _line(
    line: Line, position: int, currency: Currency, done: JobEstimate, billing: Billing
) -> Iterator[Working]:
    where, rule, step = f"lines/{position}", line.rule, cent(currency)
    if line.component == "labour":
        billed: dict[str, Value] = {"minutes": done.minutes, "step": billing.minute_step}
        counted = "up(minutes, step)"
    else:
        billed, counted = {"billed": line.quantity + rule.above}, "billed"
    if rule.above:
        billed, counted = billed | {"above": rule.above}, f"{counted} - above"
    if rule.above or line.component == "labour":
        yield Working(f"{where}/quantity", counted, billed, line.quantity)
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
    yield Working(f"{where}/each", f"half_up({formula}, {step})", inputs, line.each)
    ends: dict[str, Value] = {"each": line.each, "pieces": line.pieces, "set_up": line.set_up}
    yield Working(f"{where}/amount", "each * pieces + set_up", ends, line.amount)
