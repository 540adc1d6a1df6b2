"""Sizes, cut list, material and bench time: kept, and made the domain's again."""

from __future__ import annotations

from typing import Any, cast

from schemas.quotes.figures import records as kept
from schemas.quotes.figures.jobs import (
    exact,
    keep_sides,
    keep_size,
    maybe_size,
    text,
    the_length,
    the_number,
    the_sides,
    the_size,
)
from service.domain.estimates.costs import JobCost, UseCost, costed
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.frame import FrameSizes
from service.domain.jobs.hanging import Hung
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Window
from service.domain.jobs.sizes import Layer, Sizes
from service.domain.jobs.use import Use
from service.domain.labour.standard import Operation, OperationTime, Scaled
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.length import Length
from service.domain.measure.money import Currency


def keep_sizes(sizes: Sizes) -> kept.Sizes:
    """Return the sizes of a job to keep."""
    return kept.Sizes(
        shows=tuple(map(keep_size, sizes.shows)),
        ordered=keep_size(sizes.ordered),
        allowance=sizes.allowance.ticks,
        stack_depth=sizes.stack_depth.ticks,
        layers=tuple(
            kept.Layer(keep_size(each.blank), each.trim.ticks, _keep_windows(each.windows))
            for each in sizes.layers
        ),
        border=keep_sides(sizes.border) if sizes.border else None,
        package=maybe_size(sizes.package),
        frames=tuple(
            kept.FrameSizes(
                *(keep_size(size) for size in (each.holds, each.rabbet, each.sight, each.outside))
            )
            for each in sizes.frames
        ),
    )


def the_sizes(sizes: kept.Sizes, job: Job) -> Sizes:
    """Return kept sizes, with the mats and frames of their job."""
    layers = (
        Layer(mat, the_size(each.blank), the_length(each.trim), _windows(each.windows))
        for mat, each in zip(job.mats, sizes.layers, strict=True)
    )
    frames = (
        FrameSizes(frame, *map(the_size, (each.holds, each.rabbet, each.sight, each.outside)))
        for frame, each in zip(job.frames, sizes.frames, strict=True)
    )
    return Sizes(
        tuple(map(the_size, sizes.shows)),
        tuple(layers),
        the_sides(sizes.border) if sizes.border else None,
        the_size(sizes.package) if sizes.package else None,
        the_length(sizes.allowance),
        tuple(frames),
        the_size(sizes.ordered),
        the_length(sizes.stack_depth),
    )


def _keep_windows(windows: tuple[Window, ...]) -> tuple[kept.Window, ...]:
    return tuple(kept.Window(w.shape, w.x.ticks, w.y.ticks, keep_size(w.size)) for w in windows)


def _windows(windows: tuple[kept.Window, ...]) -> tuple[Window, ...]:
    return tuple(
        Window(cast(Any, w.shape), Length(w.x), Length(w.y), the_size(w.size)) for w in windows
    )


def keep_piece(piece: Piece) -> kept.Piece:
    """Return a row of the cut list to keep."""
    return kept.Piece(
        part=piece.part,
        item=piece.item.code,
        quantity=piece.quantity,
        pointer=piece.pointer,
        size=maybe_size(piece.size),
        length=None if piece.length is None else piece.length.ticks,
        layer=piece.layer,
        side=piece.side,
        mitre=text(piece.mitre),
        windows=_keep_windows(piece.windows),
        trim=piece.trim.ticks,
        grooves=_keep_windows(piece.grooves),
        ruled_lines=_keep_windows(piece.ruled_lines),
    )


def the_piece(piece: kept.Piece, catalogue: Catalogue) -> Piece:
    """Return a kept row of the cut list."""
    return Piece(
        part=piece.part,
        item=catalogue.items[piece.item],
        quantity=piece.quantity,
        pointer=piece.pointer,
        size=the_size(piece.size) if piece.size else None,
        length=None if piece.length is None else Length(piece.length),
        layer=piece.layer,
        side=piece.side,
        mitre=the_number(piece.mitre),
        windows=_windows(piece.windows),
        trim=the_length(piece.trim),
        grooves=_windows(piece.grooves),
        ruled_lines=_windows(piece.ruled_lines),
    )


def keep_use(part: UseCost) -> kept.Use:
    """Return a use of material to keep, with its cost."""
    use = part.use
    return kept.Use(
        component=use.component,
        item=use.item.code,
        pointer=use.pointer,
        size=maybe_size(use.size),
        footage=None if use.footage is None else use.footage.ticks,
        feet=text(use.feet),
        area=text(use.area),
        pieces=str(use.pieces),
        openings=use.openings,
        layer=use.layer,
        supply=use.supply,
        cost_basis=part.known.basis if part.known else "",
        cost_quantity=str(part.quantity),
        cost_amount=str(part.amount),
        grooves=use.grooves,
        ruled_lines=use.ruled_lines,
        kerf=use.kerf.ticks,
    )


def the_use(use: kept.Use, catalogue: Catalogue) -> Use:
    """Return a kept use of material."""
    return Use(
        component=use.component,
        item=catalogue.items[use.item],
        pointer=use.pointer,
        size=the_size(use.size) if use.size else None,
        footage=None if use.footage is None else Length(use.footage),
        feet=the_number(use.feet),
        area=the_number(use.area),
        pieces=exact(use.pieces),
        openings=use.openings,
        layer=use.layer,
        supply=use.supply,
        grooves=use.grooves,
        ruled_lines=use.ruled_lines,
        kerf=the_length(use.kerf),
    )


def keep_hanging(hung: Hung | None) -> kept.Hung | None:
    """Return the places of a piece's hanging to keep."""
    if hung is None:
        return None
    lengths = hung.ring_drop, hung.ring_inset, hung.span, hung.rise, hung.wire
    return kept.Hung(*(length.ticks for length in lengths))


def the_hanging(hung: kept.Hung | None) -> Hung | None:
    """Return the kept places of a piece's hanging."""
    if hung is None:
        return None
    ticks = hung.ring_drop, hung.ring_inset, hung.span, hung.rise, hung.wire
    return Hung(*map(the_length, ticks))


def the_cost(
    figures: kept.JobFigures, uses: tuple[Use, ...], catalogue: Catalogue, own: Currency
) -> JobCost:
    """Return the kept cost of a job; `own` is the shop's currency."""
    materials = tuple(
        _use_cost(use, each, figures.job.quantity, catalogue)
        for use, each in zip(uses, figures.uses, strict=True)
    )
    return costed(materials, exact(figures.labour_cost), own)


def _use_cost(use: Use, cost: kept.Use, pieces: int, catalogue: Catalogue) -> UseCost:
    quantity, amount = exact(cost.cost_quantity), exact(cost.cost_amount)
    costs = [c for c in catalogue.costs.get(use.item.code, ()) if c.basis == cost.cost_basis]
    taken = (each for each in costs if each.cost * quantity * pieces == amount)
    return UseCost(use, next(taken, next(iter(costs), None)), quantity, pieces, amount)


def keep_time(time: OperationTime) -> kept.OperationTime:
    """Return the time of an operation to keep."""
    done = time.operation
    return kept.OperationTime(
        code=done.code,
        driver=done.driver,
        hundredths=time.hundredths,
        quantity=time.quantity,
        parts=time.parts,
        per=time.per,
        description=done.description,
        unit_minutes=str(done.unit_minutes),
        set_up_minutes=str(done.set_up_minutes),
        factor=str(done.factor) if isinstance(done, Scaled) else "",
    )


def the_time(time: kept.OperationTime) -> OperationTime:
    """Return the kept time of an operation."""
    told = time.code, time.description, time.driver
    minutes = exact(time.unit_minutes), exact(time.set_up_minutes)
    factor = the_number(time.factor)
    done = Operation(*told, *minutes) if factor is None else Scaled(*told, *minutes, factor)
    return OperationTime(done, time.hundredths, time.quantity, time.parts, time.per)
