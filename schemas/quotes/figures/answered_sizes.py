"""The sizes of a job from its stored answer: every length of it is exact."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from schemas.wire.lengths import exact_length
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.frame import FrameSizes, frame_round
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Placed
from service.domain.jobs.sizes import Layer, Sizes
from service.domain.measure.length import ZERO, Length, Sides, Size
from service.domain.shop import Shop

Told = Mapping[str, Any]


def size_told(told: Told) -> Size:
    """Return a width and a height of an answer."""
    return Size(exact_length(told["width"]), exact_length(told["height"]))


def sizes_told(told: Told, pieces: Sequence[Piece], job: Job, shop: Shop) -> Sizes:
    """Return the sizes of a job from its answer and its cut list."""
    package = size_told(told["package"]) if told["package"] else None
    mats = [piece for piece in pieces if piece.part == "mat"]
    layers = tuple(
        Layer(
            mat,
            piece.size or Size(ZERO, ZERO),
            piece.trim,
            tuple(window.moved(-piece.trim, -piece.trim) for window in piece.windows),
        )
        for mat, piece in zip(job.mats, mats, strict=True)
    )
    ordered = package or job.artwork.size.grown(2 * job.gap)
    allowance = _allowance(told, package, ordered, job, shop)
    return Sizes(
        _shows(told, layers, job),
        layers,
        _border(told["border"]),
        package,
        allowance,
        tuple(_frames(told, pieces, job, ordered, shop)),
        ordered,
        exact_length(told["stack_depth"]),
    )


def _border(told: Told | None) -> Sides | None:
    if told is None:
        return None
    return Sides(*(exact_length(told[side]) for side in ("top", "right", "bottom", "left")))


def _shows(told: Told, layers: Sequence[Layer], job: Job) -> tuple[Size, ...]:
    """Return what shows of the art: of windows placed by hand, through the innermost mat."""
    if not isinstance(job.openings, Placed) or not layers:
        return (size_told(told["shows"]),)
    narrowed = -2 * layers[-1].mat.fillet_width()
    return tuple(window.size.grown(narrowed) for window in layers[-1].windows)


def _allowance(told: Told, package: Size | None, ordered: Size, job: Job, shop: Shop) -> Length:
    if package is None:
        return ZERO
    if told["rabbet"]:
        return size_told(told["rabbet"]).width - ordered.width
    plastic = job.glazing is not None and job.glazing.plastic
    return shop.allowance_for(ordered, plastic=plastic)


def _frames(
    told: Told, pieces: Sequence[Piece], job: Job, ordered: Size, shop: Shop
) -> Iterator[FrameSizes]:
    """Yield the frames, innermost first.

    The innermost rabbet and sight and the outermost outside are answered. The outside of a frame of
    four sides is the length of its rails; the rabbet of a frame lies within its outside by what the
    moulding covers.
    """
    holds = ordered
    for position, frame in enumerate(job.frames):
        outside = _rails(pieces, position + 1)
        if position == len(job.frames) - 1:
            outside = size_told(told["outside"])
        if position:
            made = frame_round(frame, holds, shop.sizing.allowance)
            outside = outside or made.outside
            rabbet = made.rabbet.grown(outside.width - made.outside.width)
            sight = made.sight.grown(outside.width - made.outside.width)
        else:
            rabbet, sight = size_told(told["rabbet"]), size_told(told["frame_sight"])
            outside = outside or frame_round(frame, rabbet, ZERO).outside
        yield FrameSizes(frame, holds, rabbet, sight, outside)
        holds = outside


def _rails(pieces: Sequence[Piece], layer: int) -> Size | None:
    """Return the outside of a frame by its rails; None for other than four sides."""
    rails = {p.side: p.length for p in pieces if (p.part, p.layer) == ("rail", layer)}
    top, left = rails.get("top"), rails.get("left")
    return Size(top, left) if top and left else None
