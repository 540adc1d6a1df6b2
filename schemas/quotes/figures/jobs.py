"""A job as it was made up: its items by code, and every default that was filled in."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, cast

from schemas.quotes.figures import records as kept
from service.domain.estimates.calculation import Basis
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.asked import AskedLine
from service.domain.jobs.frame import Frame
from service.domain.jobs.job import PLAIN, Conditions, Discount, GlazingChoice, Job, Override
from service.domain.jobs.mat import Grid, Layout, Mat, Placed, PlacedWindow, Single
from service.domain.jobs.notes import Finding, Note, Photograph
from service.domain.jobs.own import OwnFrame
from service.domain.measure.length import NO_SIDES, ZERO, Length, Sides, Size


def keep_size(size: Size) -> kept.Size:
    """Return a size to keep."""
    return size.width.ticks, size.height.ticks


def maybe_size(size: Size | None) -> kept.Size | None:
    """Return a size to keep, or None."""
    return None if size is None else (size.width.ticks, size.height.ticks)


def keep_sides(sides: Sides) -> kept.Sides:
    """Return four sides to keep."""
    return sides.top.ticks, sides.right.ticks, sides.bottom.ticks, sides.left.ticks


def text(value: Fraction | None) -> str:
    """Return a number to keep; empty for None."""
    return "" if value is None else str(value)


def the_length(ticks: int) -> Length:
    """Return a kept length."""
    return Length(ticks) if ticks else ZERO


def the_size(size: kept.Size) -> Size:
    """Return a kept size."""
    return Size(Length(size[0]), Length(size[1]))


def the_sides(sides: kept.Sides) -> Sides:
    """Return four kept sides."""
    return Sides(*map(Length, sides)) if any(sides) else NO_SIDES


def exact(value: str) -> Fraction:
    """Return a kept number."""
    over, _, under = value.partition("/")
    return Fraction(int(over), int(under or 1))


def the_number(value: str) -> Fraction | None:
    """Return a kept number; None for an empty one."""
    return exact(value) if value else None


def keep_job(job: Job) -> kept.Job:
    """Return a job to keep."""
    return kept.Job(
        artwork=_keep_artwork(job.artwork),
        presentation=job.presentation,
        label=job.label,
        quantity=job.quantity,
        overlap=job.overlap.ticks,
        float_margin=job.float_margin.ticks,
        gap=job.gap.ticks,
        openings=_keep_layout(job.openings),
        mats=tuple(
            kept.Mat(
                m.board.code,
                m.bevel,
                keep_sides(m.reveal),
                _code(m.fillet),
                tuple([each.ticks for each in m.grooves]),
                tuple([each.ticks for each in m.ruled_lines]),
            )
            for m in job.mats
        ),
        border=keep_sides(job.border) if job.border else None,
        fit_to=maybe_size(job.fit_to),
        bottom_weight=job.bottom_weight.ticks,
        glazing=_keep_glazing(job.glazing) if job.glazing else None,
        mounting=_code(job.mounting),
        mount=_code(job.mount),
        backing=_code(job.backing),
        frames=tuple(
            kept.Frame(f.moulding.code, f.supply, f.sides, _code(f.fillet))
            for f in job.frames
            if not f.own
        ),
        finishing=tuple(method.code for method in job.finishing),
        preservation_grade=job.preservation_grade,
        fees=job.fees,
        discounts=tuple(map(keep_discount, job.discounts)),
        overrides=tuple((each.stop, each.reason) for each in job.overrides),
        notes=keep_notes(job.notes),
        lines=_keep_asked(job.lines),
        work=job.work,
        own_frame=_keep_own(job.own_frame) if job.own_frame else None,
        goods=tuple([(item.code, many) for item, many in job.goods]),
        by_side=keep_sides(job.by_side) if job.by_side else None,
        condition=tuple([_keep_finding(found) for found in job.condition]),
    )


def keep_notes(notes: tuple[Note, ...]) -> tuple[kept.Note, ...]:
    """Return notes to keep."""
    return tuple([kept.Note(note.text, note.inside, note.pointer) for note in notes])


def _keep_asked(lines: tuple[AskedLine, ...]) -> tuple[kept.AskedLine, ...]:
    return tuple(
        [
            kept.AskedLine(
                description=line.description,
                quantity=str(line.quantity),
                unit_price=text(line.unit_price),
                service=line.service,
                tax_category=line.tax_category,
                minutes=str(line.minutes),
            )
            for line in lines
        ]
    )


def _asked(lines: tuple[kept.AskedLine, ...]) -> tuple[AskedLine, ...]:
    return tuple(
        [
            AskedLine(
                description=line.description,
                quantity=exact(line.quantity),
                unit_price=the_number(line.unit_price),
                service=line.service,
                tax_category=line.tax_category,
                minutes=exact(line.minutes),
            )
            for line in lines
        ]
    )


def _keep_own(own: OwnFrame) -> kept.OwnFrame:
    return kept.OwnFrame(
        rabbet_width=own.rabbet_width.ticks,
        rabbet_depth=own.rabbet_depth.ticks,
        face_width=own.face_width.ticks,
        rabbet=maybe_size(own.rabbet),
        material=own.material,
        change=own.change,
        corners=own.corners,
    )


def _own(own: kept.OwnFrame) -> OwnFrame:
    return OwnFrame(
        rabbet_width=Length(own.rabbet_width),
        rabbet_depth=Length(own.rabbet_depth),
        face_width=Length(own.face_width),
        rabbet=the_size(own.rabbet) if own.rabbet else None,
        material=own.material,
        change=cast(Any, own.change),
        corners=own.corners,
    )


def _keep_finding(found: Finding) -> kept.Finding:
    photographs = tuple((each.url, each.sha256) for each in found.photographs)
    return kept.Finding(found.code, found.words, photographs, found.description)


def _code(named: Any) -> str:
    return named.code if named else ""


def _keep_artwork(art: Artwork) -> kept.Artwork:
    return kept.Artwork(keep_size(art.size), art.thickness.ticks, art.kind)


def _keep_layout(layout: Layout) -> kept.Layout:
    if isinstance(layout, Placed):
        windows = (
            kept.PlacedWindow(_keep_artwork(each.artwork), each.x.ticks, each.y.ticks, each.shape)
            for each in layout.windows
        )
        return kept.Layout(windows=tuple(windows))
    if isinstance(layout, Grid):
        return kept.Layout(layout.shape, layout.rows, layout.columns, layout.gutter.ticks)
    return kept.Layout(layout.shape)


def _keep_glazing(glazing: GlazingChoice) -> kept.Glazing:
    stacked = tuple([spacer.code for spacer in glazing.stacked])
    item = _code(glazing.spacer_item)
    return kept.Glazing(glazing.sheet.code, glazing.spacer.ticks, item, stacked)


def keep_discount(discount: Discount) -> kept.Discount:
    """Return a discount to keep."""
    percent, amount = text(discount.percent), text(discount.amount)
    return kept.Discount(
        discount.reason,
        percent,
        amount,
        discount.component,
        discount.coupon,
        discount.components,
        text(discount.minimum or None),
    )


def keep_conditions(conditions: Conditions) -> kept.Conditions | None:
    """Return the conditions of a document to keep; None if there are none."""
    if conditions == PLAIN:
        return None
    discounts = tuple(map(keep_discount, conditions.discounts))
    return kept.Conditions(
        discounts,
        conditions.exempt,
        conditions.place,
        keep_notes(conditions.notes),
        _keep_asked(conditions.lines),
        conditions.level,
    )


def the_job(job: kept.Job, basis: Basis) -> Job:
    """Return a kept job, with the items and methods of its basis."""
    item: Any = basis.catalogue.items.get  # of the right kinds: they were when the job was made
    own = _own(job.own_frame) if job.own_frame else None
    return Job(
        label=job.label,
        quantity=job.quantity,
        artwork=_artwork(job.artwork),
        presentation=cast(Any, job.presentation),
        overlap=the_length(job.overlap),
        float_margin=the_length(job.float_margin),
        gap=the_length(job.gap),
        openings=_layout(job.openings),
        mats=tuple(
            Mat(
                item(m.board),
                cast(Any, m.bevel),
                the_sides(m.reveal),
                item(m.fillet),
                tuple(map(Length, m.grooves)),
                tuple(map(Length, m.ruled_lines)),
            )
            for m in job.mats
        ),
        border=the_sides(job.border) if job.border else None,
        fit_to=the_size(job.fit_to) if job.fit_to else None,
        bottom_weight=the_length(job.bottom_weight),
        glazing=_glazing(job.glazing, item) if job.glazing else None,
        mounting=basis.shop.mounting_method(job.mounting) if job.mounting else None,
        mount=item(job.mount),
        backing=item(job.backing),
        frames=tuple(
            Frame(item(f.moulding), cast(Any, f.supply), f.sides, item(f.fillet))
            for f in job.frames
        )
        or ((own.frame(),) if own else ()),
        finishing=tuple(m for m in map(basis.shop.finish, job.finishing) if m is not None),
        preservation_grade=job.preservation_grade,
        fees=job.fees,
        discounts=tuple(map(the_discount, job.discounts)),
        overrides=tuple(Override(*each) for each in job.overrides),
        notes=_notes(job.notes),
        lines=_asked(job.lines),
        work=job.work,
        own_frame=own,
        goods=tuple([(item(code), many) for code, many in job.goods]),
        by_side=the_sides(job.by_side) if job.by_side else None,
        condition=tuple([_finding(found) for found in job.condition]),
    )


def _notes(notes: tuple[kept.Note, ...]) -> tuple[Note, ...]:
    return tuple([Note(note.text, note.inside, note.pointer) for note in notes])


def _finding(found: kept.Finding) -> Finding:
    photographs = tuple([Photograph(*each) for each in found.photographs])
    return Finding(found.code, found.words, photographs, found.description)


def _artwork(art: kept.Artwork) -> Artwork:
    return Artwork(the_size(art.size), the_length(art.thickness), art.kind)


def _layout(layout: kept.Layout) -> Layout:
    shape = cast(Any, layout.shape)
    if layout.windows:
        return Placed(
            tuple(
                PlacedWindow(_artwork(w.artwork), Length(w.x), Length(w.y), cast(Any, w.shape))
                for w in layout.windows
            )
        )
    if layout.rows:
        return Grid(layout.rows, layout.columns, the_length(layout.gutter), shape)
    return Single(shape)


def _glazing(glazing: kept.Glazing, item: Any) -> GlazingChoice:
    stacked = tuple(map(item, glazing.stacked))
    spacer = the_length(glazing.spacer), item(glazing.spacer_item)
    return GlazingChoice(item(glazing.sheet), *spacer, stacked)


def the_discount(discount: kept.Discount) -> Discount:
    """Return a kept discount."""
    return Discount(
        reason=discount.reason,
        percent=the_number(discount.percent),
        amount=the_number(discount.amount),
        component=discount.component,
        coupon=discount.coupon,
        components=discount.components,
        minimum=the_number(discount.minimum) or Fraction(0),
    )


def the_conditions(conditions: kept.Conditions | None) -> Conditions:
    """Return kept conditions."""
    if conditions is None:
        return PLAIN
    discounts = tuple(map(the_discount, conditions.discounts))
    return Conditions(
        discounts=discounts,
        exempt=conditions.exempt,
        place=conditions.place,
        notes=_notes(conditions.notes),
        lines=_asked(conditions.lines),
        level=conditions.level,
    )
