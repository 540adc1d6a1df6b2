"""The answer to an estimate: sizes, cut list, materials, labour, lines, advisories and totals."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from schemas.wire.figures import Figures, Json, number, rate_text, ratio
from service.domain.estimates.calculation import Estimate, JobEstimate
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.hanging import Hung
from service.domain.jobs.job import PLAIN
from service.domain.jobs.mat import Window
from service.domain.jobs.places import ArtPlace, curve, float_places, margin_showing
from service.domain.jobs.sizes import Sizes
from service.domain.labour.standard import Operation, OperationTime, Scaled
from service.domain.measure.area import SQUARE_TICKS_PER_SQUARE_FOOT
from service.domain.measure.length import TICKS_PER_INCH, Sides
from service.domain.measure.units import MG_PER_KG
from service.domain.prices.discounts import Reduction
from service.domain.prices.lines import Line
from service.domain.prices.lists import MARKUPS, PriceRule
from service.domain.prices.tax import Tax
from service.domain.prices.totals import Totals
from service.domain.quotes.sale import used_materials
from service.domain.shop import Billing

MOST_KNOWN = 4_000
T = TypeVar("T")


def estimate_document(estimate: Estimate, jobs: Sequence[object] = ()) -> Json:
    """Return the whole answer, without costs; they are a separate document.

    `jobs` are the documents of its jobs, if already written.
    """
    basis = estimate.basis
    figures = Figures(basis.shop.ruler)
    billing = basis.shop.billing
    document: Json = {
        "currency": basis.price_list.currency.code,
        "price_list": basis.price_list.code,
        "jobs": jobs
        or [
            job_document(job, position, figures, billing)
            for position, job in enumerate(estimate.jobs)
        ],
        "totals": totals_document(estimate.totals),
    }
    if estimate.conditions is not PLAIN:
        _conditions(document, estimate)
    return document


def _conditions(document: Json, estimate: Estimate) -> None:
    """Add the document's totals and its special conditions."""
    totals, conditions = estimate.totals, estimate.conditions
    shown = totals_document(totals)
    if totals.reductions:
        shown["discounts"] = [_reduction(reduction) for reduction in totals.reductions]
    if conditions.place:
        shown["tax_place"] = conditions.place
    if conditions.exempt:
        relief = totals.relief.text() if totals.relief else "0"
        shown["tax_exempt"] = {"reason": conditions.exempt, "tax_taken_out": relief}
    document["totals"] = shown


def _reduction(reduction: Reduction) -> Json:
    """Return a discount and its amount."""
    discount = reduction.discount
    shown: Json = {"reason": discount.reason}
    if discount.percent is not None:
        shown["percent"] = number(discount.percent)
    if discount.component:
        shown["component"] = discount.component
    return {**shown, "base": reduction.base.text(), "amount": reduction.amount.text()}


def job_document(done: JobEstimate, position: int, figures: Figures, billing: Billing) -> Json:
    """Return one job of the answer."""
    prefix = f"/jobs/{position}"
    shown: Json = {
        "label": done.job.label,
        "quantity": done.job.quantity,
        "sizes": sizes_document(done, figures),
        "cut_list": [_piece(piece, prefix, figures) for piece in done.pieces],
        "materials": list(_materials(done, billing)),
        "labour": {
            "minutes": number(done.minutes),
            "operations": [_operation(time) for time in done.times],
        },
        "lines": [_line(line, prefix) for line in done.lines],
        "subtotal": done.subtotal.text(),
        "percent_off": number(done.percent_off),
        "discount": done.discount.text(),
        "advisories": [advisory_document(advisory, prefix) for advisory in done.advisories],
    }
    if done.reductions:
        shown["discounts"] = [_reduction(reduction) for reduction in done.reductions]
    return shown


def sizes_document(done: JobEstimate, figures: Figures) -> Json:
    """Return the sizes of a job; null for what it does not have (a package, a frame)."""
    sizes = done.sizes
    innermost = sizes.frames[0] if sizes.frames else None
    area = sizes.ordered.width.ticks * sizes.ordered.height.ticks
    shown: Json = {
        "shows": figures.size(sizes.shows[0]),
        "opening": figures.maybe_size(sizes.opening),
        "border": _sides(sizes.border, figures),
        "border_showing": _sides(_showing(sizes), figures),
        "package": figures.maybe_size(sizes.package),
        "rabbet": figures.maybe_size(innermost.rabbet if innermost else None),
        "frame_sight": figures.maybe_size(innermost.sight if innermost else None),
        "outside": figures.size(sizes.outside),
        "stack_depth": figures.length(sizes.stack_depth),
        "united_inches": ratio(sizes.ordered.united_ticks(), TICKS_PER_INCH),
        "square_feet": ratio(area, SQUARE_TICKS_PER_SQUARE_FOOT),
        "weight_kg": ratio(done.weight_mg, MG_PER_KG, 3),
    }
    margin = margin_showing(done.job, sizes)
    if margin is not None:
        shown["float_margin_showing"] = figures.length(margin)
        places = float_places(done.job, sizes)
        shown["art_places"] = [_place(place, figures) for place in places]
    if done.hanging is not None:
        shown["hanging"] = _hanging(done.hanging, figures)
    return shown


def _place(place: ArtPlace, figures: Figures) -> Json:
    return {
        "x": figures.length(place.x),
        "y": figures.length(place.y),
        "width": figures.length(place.size.width),
        "height": figures.length(place.size.height),
        "margins": _sides(place.margins, figures),
        "centre_x": figures.length(place.centre_x),
        "centre_y": figures.length(place.centre_y),
    }


def _hanging(hung: Hung, figures: Figures) -> Json:
    return {
        "ring_drop": figures.length(hung.ring_drop),
        "ring_inset": figures.length(hung.ring_inset),
        "span": figures.length(hung.span),
        "rise": figures.length(hung.rise),
        "wire": figures.length(hung.wire),
    }


def _showing(sizes: Sizes) -> Sides | None:
    """Return what the frame's lip and fillet leave to be seen of the top mat's border."""
    border = sizes.border
    if border is None or not sizes.frames:
        return border
    hidden = sizes.frames[0].hidden()
    return Sides(*(side - hidden for _, side in border.each()))


def _sides(sides: Sides | None, figures: Figures) -> Json | None:
    if sides is None:
        return None
    return {name: figures.length(length) for name, length in sides.each()}


def _piece(piece: Piece, prefix: str, figures: Figures) -> Json:
    row: Json = {
        "part": piece.part,
        "item": piece.item.code,
        "quantity": piece.quantity,
        "path": prefix + piece.pointer,
    }
    if piece.layer:
        row["layer"] = piece.layer
    if piece.size is not None:
        row["width"] = figures.length(piece.size.width)
        row["height"] = figures.length(piece.size.height)
    if piece.part == "mat":
        row["openings"] = [_window(window, figures) for window in piece.windows]
        row["trim"] = figures.length(piece.trim)
        if piece.grooves:
            row["grooves"] = [_window(each, figures) for each in piece.grooves]
        if piece.ruled_lines:
            row["ruled_lines"] = [_window(each, figures) for each in piece.ruled_lines]
    if piece.length is not None:
        row["side"] = piece.side
        row["length"] = figures.length(piece.length)
    if piece.mitre is not None:
        row["mitre_degrees"] = number(piece.mitre)
    return row


def _window(window: Window, figures: Figures) -> Json:
    shown: Json = {
        "shape": window.shape,
        "x": figures.length(window.x),
        "y": figures.length(window.y),
        "width": figures.length(window.size.width),
        "height": figures.length(window.size.height),
    }
    shaped = curve(window)
    if shaped is not None:
        shown["centre_x"] = figures.length(shaped.centre_x)
        shown["centre_y"] = figures.length(shaped.centre_y)
        shown["radius_x"] = figures.length(shaped.radius_x)
        shown["radius_y"] = figures.length(shaped.radius_y)
    return shown


def _materials(done: JobEstimate, billing: Billing) -> Iterator[Json]:
    """Yield what all pieces of the job use, by item and basis."""
    for (code, basis), (over, under) in used_materials(done, billing).items():
        yield {"item": code, "basis": basis, "quantity": ratio(over, under)}


def _operation(time: OperationTime) -> Json:
    """Return the row of an operation; cached, as most jobs share a few unit counts."""
    operation = time.operation
    place = (id(operation), time.hundredths, time.parts, time.per)
    shown = _ROWS.find(place, operation)
    if shown is None:
        shown = _KNOWN.of(operation, _of_operation).copy()
        shown["units"] = ratio(time.hundredths, 100)
        shown["minutes"] = ratio(time.parts, time.per)
        _ROWS.keep(place, operation, shown)
    return shown


def _of_operation(operation: Operation) -> Json:
    """Return the constant part of an operation's rows."""
    shown: Json = {
        "operation": operation.code,
        "description": operation.description,
        "driver": operation.driver,
        "units": "",
        "set_up_minutes": number(operation.set_up_minutes),
        "unit_minutes": number(operation.unit_minutes),
        "minutes": "",
    }
    if isinstance(operation, Scaled):
        shown["multiplied_by"] = number(operation.factor)
    return shown


def _line(line: Line, prefix: str) -> Json:
    rule = line.rule
    shown = _KNOWN.of(rule, _of_rule).copy()
    shown["component"] = line.component
    shown["item"] = line.item or None
    shown["description"] = line.description
    shown["basis"] = line.basis
    shown["quantity"] = number(line.quantity)
    if line.rate is not rule.rate:
        shown["rate"] = rate_text(line.rate)
    each = shown["each"] = line.each.text()
    shown["pieces"] = line.pieces
    shown["amount"] = each if line.amount is line.each else line.amount.text()
    shown["path"] = prefix + line.pointer
    if line.layer:
        shown["layer"] = line.layer
    if line.set_up.minor:
        shown["set_up"] = line.set_up.text()
    if line.slices:
        shown["slices"] = [
            {"quantity": number(part.quantity), "rate": number(part.rate)} for part in line.slices
        ]
    return shown


def _of_rule(rule: PriceRule) -> Json:
    """Return the constant part of a rule's lines, with keys in the order of a line."""
    shown: Json = {
        "component": "",
        "item": None,
        "description": "",
        "charge": rule.charge,
        "basis": "",
        "method": "rate" if rule.method in MARKUPS else rule.method,  # markup already applied
        "quantity": "",
        "rate": rate_text(rule.rate),
        "each": "",
        "pieces": 0,
        "amount": "",
        "taxable": bool(rule.tax_category),
        "tax_category": rule.tax_category,
        "rule": rule.code,
        "path": "",
    }
    if rule.minimum:
        shown["minimum"] = number(rule.minimum)
    if rule.rounding_step:
        shown["rounding_step"] = number(rule.rounding_step)
    return shown


class _Known:
    """A cache of the constant part of rows, by the rule or operation they come from.

    Rules and operations live as long as the shop's book. They are keyed by identity, because
    hashing their contents would cost more than writing the row again.
    """

    def __init__(self) -> None:
        self._shown: dict[object, tuple[object, Json]] = {}

    def of(self, source: T, written: Callable[[T], Json]) -> Json:
        """Return the constant part for a rule or an operation; do not modify it."""
        shown = self.find(id(source), source)
        if shown is None:
            shown = written(source)
            self.keep(id(source), source, shown)
        return shown

    def find(self, place: object, source: object) -> Json | None:
        """Return what was cached for `source`, or None; do not modify it."""
        known = self._shown.get(place)
        return known[1] if known is not None and known[0] is source else None

    def keep(self, place: object, source: object, shown: Json) -> None:
        """Cache `shown` together with its source, so that its identity cannot be reused."""
        if len(self._shown) >= MOST_KNOWN:
            self._shown.clear()
        self._shown[place] = (source, shown)


_KNOWN = _Known()
_ROWS = _Known()
"""Whole rows of operations, keyed by the operation's identity, units and minutes."""


def advisory_document(advisory: Advisory, prefix: str) -> Json:
    """Return one advisory, with its pointer from the document's root."""
    return {
        "code": advisory.code,
        "severity": advisory.severity,
        "message": advisory.message,
        "path": prefix + advisory.pointer,
    }


def totals_document(totals: Totals) -> Json:
    """Return the totals; if a rate is unknown, the tax is null and its categories are named."""
    tax = totals.tax
    return {
        "subtotal": totals.subtotal.text(),
        "discount": totals.discount.text(),
        "tax": None if tax.unknown else tax.total.text(),
        "taxes": _taxes(tax),
        "tax_included": tax.included,
        "tax_unknown": list(tax.unknown),
        "total": totals.total.text(),
    }


def _taxes(tax: Tax) -> list[Json]:
    return [
        {
            "name": line.name,
            "percent": number(line.percent),
            "base": line.base.text(),
            "amount": line.amount.text(),
        }
        for line in tax.lines
    ]
