"""The answer to an estimate: sizes, cut list, materials, labour, lines, advisories and totals."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import cast

from msgspec import Raw

from schemas.estimates import job_shapes as of_job
from schemas.estimates import shapes
from schemas.wire import values
from schemas.wire.figures import Figures, number, rate_text, ratio
from schemas.wire.record import UNSET, Unset
from service.domain.estimates.calculation import Estimate, JobEstimate
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.hanging import Hung
from service.domain.jobs.job import PLAIN, Conditions
from service.domain.jobs.mat import Window
from service.domain.jobs.notes import Finding, Note
from service.domain.jobs.places import ArtPlace, curve, float_places, margin_showing
from service.domain.jobs.sizes import Sizes
from service.domain.jobs.work import NEW
from service.domain.labour.standard import Operation, OperationTime, Scaled
from service.domain.measure.area import SQUARE_TICKS_PER_SQUARE_FOOT
from service.domain.measure.length import TICKS_PER_INCH, Sides
from service.domain.measure.units import MG_PER_KG
from service.domain.prices.discounts import Reduction
from service.domain.prices.groups import grouped
from service.domain.prices.lines import Line
from service.domain.prices.lists import MARKUPS, PriceRule
from service.domain.prices.tax import Tax
from service.domain.prices.totals import Totals
from service.domain.quotes.sale import used_materials
from service.domain.shop import Billing, LineGroup, Shop

MOST_KNOWN = 4_000


def estimate_document(
    estimate: Estimate, jobs: Sequence[Raw] = (), costs: shapes.Costs | Unset = UNSET
) -> shapes.Estimate:
    """Return the whole answer; `jobs` are the documents of its jobs, if already written."""
    basis = estimate.basis
    figures = Figures(basis.shop.ruler)
    return shapes.Estimate(
        currency=basis.price_list.currency.code,
        price_list=basis.price_list.code,
        jobs=cast(tuple[of_job.JobEstimate, ...], tuple(jobs))
        or tuple(
            [
                job_document(job, position, figures, basis.shop)
                for position, job in enumerate(estimate.jobs)
            ]
        ),
        totals=totals_document(estimate.totals, estimate.conditions),
        costs=costs,
        lines=lines_document(estimate.totals.lines),
        notes=notes_document(estimate.conditions.notes),
    )


def totals_document(totals: Totals, conditions: Conditions = PLAIN) -> shapes.Totals:
    """Return the totals; if a rate is unknown, the tax is null and its categories are named."""
    tax = totals.tax
    exempt: shapes.TaxExempt | Unset = UNSET
    if conditions.exempt:
        relief = totals.relief.text() if totals.relief else "0"
        exempt = shapes.TaxExempt(reason=conditions.exempt, tax_taken_out=relief)
    plain = conditions is PLAIN
    return shapes.Totals(
        subtotal=totals.subtotal.text(),
        discount=totals.discount.text(),
        tax=None if tax.unknown else tax.total.text(),
        taxes=_taxes(tax),
        tax_included=tax.included,
        tax_unknown=tuple(tax.unknown),
        total=totals.total.text(),
        discounts=UNSET if plain else _reductions(totals.reductions),
        tax_place=conditions.place or UNSET,
        tax_exempt=exempt,
        price_level=conditions.level or UNSET,
    )


def _taxes(tax: Tax) -> tuple[shapes.TaxLine, ...]:
    return tuple(
        [
            shapes.TaxLine(
                name=line.name,
                percent=number(line.percent),
                base=line.base.text(),
                amount=line.amount.text(),
            )
            for line in tax.lines
        ]
    )


def _reductions(given: Iterable[Reduction]) -> tuple[of_job.Reduction, ...] | Unset:
    """Return the discounts and their amounts, if any."""
    return tuple([_reduction(reduction) for reduction in given]) or UNSET


def _reduction(reduction: Reduction) -> of_job.Reduction:
    discount = reduction.discount
    return of_job.Reduction(
        reason=discount.reason,
        percent=UNSET if discount.percent is None else number(discount.percent),
        component=discount.component or UNSET,
        coupon=discount.coupon or UNSET,
        components=discount.components or UNSET,
        base=reduction.base.text(),
        amount=reduction.amount.text(),
    )


def job_document(
    done: JobEstimate, position: int, figures: Figures, shop: Shop
) -> of_job.JobEstimate:
    """Return one job of the answer."""
    prefix = f"/jobs/{position}"
    return of_job.JobEstimate(
        label=done.job.label,
        quantity=done.job.quantity,
        sizes=sizes_document(done, figures),
        cut_list=tuple([_piece(piece, prefix, figures) for piece in done.pieces]),
        materials=tuple(_materials(done, shop.billing)),
        labour=of_job.Labour(
            minutes=number(done.minutes),
            operations=tuple([_operation(time) for time in done.times]),
        ),
        lines=tuple([_line(line, prefix) for line in done.lines]),
        subtotal=done.subtotal.text(),
        percent_off=number(done.percent_off),
        discount=done.discount.text(),
        advisories=advisories_document(done.advisories, prefix),
        discounts=_reductions(done.reductions),
        work=UNSET if done.job.work == NEW else done.job.work,
        groups=groups_document(done, shop.groups),
        notes=notes_document(done.job.notes, prefix),
        condition=condition_document(done.job.condition),
    )


def groups_document(
    done: JobEstimate, groups: Sequence[LineGroup]
) -> tuple[of_job.LineGroupShown, ...]:
    """Return a job's lines as the customer sees them."""
    minor = done.subtotal.currency.minor
    return tuple(
        [
            of_job.LineGroupShown(group.name, minor(group.minor).text(), group.told)
            for group in grouped(done.lines, groups)
        ]
    )


def lines_document(given: Iterable[Line]) -> tuple[of_job.Line, ...] | Unset:
    """Return a document's own lines, if it has any."""
    return tuple([_line(line, "") for line in given]) or UNSET


def notes_document(given: Iterable[Note], prefix: str = "") -> tuple[of_job.NoteShown, ...] | Unset:
    """Return notes, if there are any, with their pointers below `prefix`."""
    return tuple([of_job.NoteShown(n.text, n.inside, prefix + n.pointer) for n in given]) or UNSET


def condition_document(given: Iterable[Finding]) -> tuple[of_job.ConditionShown, ...] | Unset:
    """Return the condition at intake, if it was recorded."""
    return tuple([_finding(found) for found in given]) or UNSET


def _finding(found: Finding) -> of_job.ConditionShown:
    kept = tuple([values.PhotographShown(each.url, each.sha256) for each in found.photographs])
    return of_job.ConditionShown(found.code, found.description, found.words, kept)


def sizes_document(done: JobEstimate, figures: Figures) -> of_job.Sizes:
    """Return the sizes of a job; null for what it does not have (a package, a frame)."""
    sizes = done.sizes
    innermost = sizes.frames[0] if sizes.frames else None
    area = sizes.ordered.width.ticks * sizes.ordered.height.ticks
    margin = margin_showing(done.job, sizes)
    return of_job.Sizes(
        shows=figures.size(sizes.shows[0]),
        opening=figures.maybe_size(sizes.opening),
        border=_sides(sizes.border, figures),
        border_showing=_sides(_showing(sizes), figures),
        package=figures.maybe_size(sizes.package),
        rabbet=figures.maybe_size(innermost.rabbet if innermost else None),
        frame_sight=figures.maybe_size(innermost.sight if innermost else None),
        outside=figures.size(sizes.outside),
        stack_depth=figures.length(sizes.stack_depth),
        united_inches=ratio(sizes.ordered.united_ticks(), TICKS_PER_INCH),
        square_feet=ratio(area, SQUARE_TICKS_PER_SQUARE_FOOT),
        weight_kg=ratio(done.weight_mg, MG_PER_KG, 3),
        float_margin_showing=UNSET if margin is None else figures.length(margin),
        art_places=tuple([_place(p, figures) for p in float_places(done.job, sizes)]) or UNSET,
        hanging=UNSET if done.hanging is None else _hanging(done.hanging, figures),
    )


def _place(place: ArtPlace, figures: Figures) -> of_job.ArtPlace:
    return of_job.ArtPlace(
        x=figures.length(place.x),
        y=figures.length(place.y),
        width=figures.length(place.size.width),
        height=figures.length(place.size.height),
        margins=_four(place.margins, figures),
        centre_x=figures.length(place.centre_x),
        centre_y=figures.length(place.centre_y),
    )


def _hanging(hung: Hung, figures: Figures) -> of_job.HangingSizes:
    return of_job.HangingSizes(
        ring_drop=figures.length(hung.ring_drop),
        ring_inset=figures.length(hung.ring_inset),
        span=figures.length(hung.span),
        rise=figures.length(hung.rise),
        wire=figures.length(hung.wire),
    )


def _showing(sizes: Sizes) -> Sides | None:
    """Return what the frame's lip and fillet leave to be seen of the top mat's border."""
    border = sizes.border
    if border is None or not sizes.frames:
        return border
    hidden = sizes.frames[0].hidden()
    return Sides(*(side - hidden for _, side in border.each()))


def _sides(sides: Sides | None, figures: Figures) -> values.Sides | None:
    return None if sides is None else _four(sides, figures)


def _four(sides: Sides, figures: Figures) -> values.Sides:
    return values.Sides(
        top=figures.length(sides.top),
        right=figures.length(sides.right),
        bottom=figures.length(sides.bottom),
        left=figures.length(sides.left),
    )


def _piece(piece: Piece, prefix: str, figures: Figures) -> of_job.Piece:
    size, length = piece.size, piece.length
    mat = piece.part == "mat"
    return of_job.Piece(
        part=piece.part,
        item=piece.item.code,
        quantity=piece.quantity,
        path=prefix + piece.pointer,
        layer=piece.layer or UNSET,
        width=UNSET if size is None else figures.length(size.width),
        height=UNSET if size is None else figures.length(size.height),
        openings=tuple([_window(w, figures) for w in piece.windows]) if mat else UNSET,
        trim=figures.length(piece.trim) if mat else UNSET,
        grooves=tuple([_window(w, figures) for w in piece.grooves]) or UNSET,
        ruled_lines=tuple([_window(w, figures) for w in piece.ruled_lines]) or UNSET,
        side=UNSET if length is None else piece.side,
        length=UNSET if length is None else figures.length(length),
        mitre_degrees=UNSET if piece.mitre is None else number(piece.mitre),
    )


def _window(window: Window, figures: Figures) -> of_job.Opening:
    shaped = curve(window)
    return of_job.Opening(
        shape=window.shape,
        x=figures.length(window.x),
        y=figures.length(window.y),
        width=figures.length(window.size.width),
        height=figures.length(window.size.height),
        centre_x=UNSET if shaped is None else figures.length(shaped.centre_x),
        centre_y=UNSET if shaped is None else figures.length(shaped.centre_y),
        radius_x=UNSET if shaped is None else figures.length(shaped.radius_x),
        radius_y=UNSET if shaped is None else figures.length(shaped.radius_y),
    )


def _materials(done: JobEstimate, billing: Billing) -> Iterator[of_job.Material]:
    """Yield what all pieces of the job use, by item and basis."""
    for (code, basis), (over, under) in used_materials(done, billing).items():
        yield of_job.Material(item=code, basis=basis, quantity=ratio(over, under))


_ROWS: dict[tuple[str, int, int, int], tuple[Operation, of_job.Operation]] = {}
"""Rows of operations by code, units and minutes, each with the operation that it was made from."""


def _operation(time: OperationTime) -> of_job.Operation:
    """Return the row of an operation; cached, as most jobs share a few unit counts."""
    operation = time.operation
    place = (operation.code, time.hundredths, time.parts, time.per)
    kept = _ROWS.get(place)
    if kept is not None and kept[0] is operation:
        return kept[1]
    row = of_job.Operation(
        operation=operation.code,
        description=operation.description,
        driver=operation.driver,
        units=ratio(time.hundredths, 100),
        set_up_minutes=number(operation.set_up_minutes),
        unit_minutes=number(operation.unit_minutes),
        minutes=ratio(time.parts, time.per),
        multiplied_by=number(operation.factor) if isinstance(operation, Scaled) else UNSET,
    )
    if len(_ROWS) >= MOST_KNOWN:
        _ROWS.clear()
    _ROWS[place] = (operation, row)
    return row


def _line(line: Line, prefix: str) -> of_job.Line:
    rule = line.rule
    told = _rule(rule)
    each = line.each.text()
    return of_job.Line(
        component=line.component,
        item=line.item or None,
        description=line.description,
        charge=rule.charge,
        basis=line.basis,
        method=told.method,
        quantity=number(line.quantity),
        rate=told.rate if line.rate is rule.rate else rate_text(line.rate),
        each=each,
        pieces=line.pieces,
        amount=each if line.amount is line.each else line.amount.text(),
        taxable=bool(rule.tax_category),
        tax_category=rule.tax_category,
        rule=rule.code,
        path=prefix + line.pointer,
        minimum=told.minimum,
        rounding_step=told.rounding_step,
        layer=line.layer or UNSET,
        set_up=line.set_up.text() if line.set_up.minor else UNSET,
        slices=_slices(line) if line.slices else UNSET,
        level_factor=UNSET if line.factor == 1 else number(line.factor),
    )


def _slices(line: Line) -> tuple[of_job.Slice, ...]:
    return tuple([of_job.Slice(number(part.quantity), number(part.rate)) for part in line.slices])


class _RuleTexts:
    """The figures of a rule as every line of it shows them."""

    __slots__ = ("method", "minimum", "rate", "rounding_step", "rule")

    def __init__(self, rule: PriceRule) -> None:
        self.rule = rule
        self.method = "rate" if rule.method in MARKUPS else rule.method  # markup already applied
        self.rate = rate_text(rule.rate)
        self.minimum = number(rule.minimum) if rule.minimum else UNSET
        self.rounding_step = number(rule.rounding_step) if rule.rounding_step else UNSET


_RULES: dict[str, _RuleTexts] = {}
"""The figures of rules by code, as most lines share a few rules."""


def _rule(rule: PriceRule) -> _RuleTexts:
    kept = _RULES.get(rule.code)
    if kept is None or kept.rule is not rule:
        if len(_RULES) >= MOST_KNOWN:
            _RULES.clear()
        kept = _RULES[rule.code] = _RuleTexts(rule)
    return kept


def advisories_document(given: Iterable[Advisory], prefix: str) -> tuple[values.Advisory, ...]:
    """Return the advisories, with their pointers from the document's root."""
    return tuple(
        [
            values.Advisory(
                code=advisory.code,
                severity=advisory.severity,
                message=advisory.message,
                path=prefix + advisory.pointer,
                overridden=advisory.overridden or UNSET,
            )
            for advisory in given
        ]
    )
