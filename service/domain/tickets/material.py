"""The rest of a ticket: layers, hardware and supplies."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.estimates.calculation import JobEstimate
from service.domain.jobs.depth import art_depth
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Placed
from service.domain.jobs.use import Use
from service.domain.jobs.work import COUNTER, UNSEEN
from service.domain.materials.catalogue import Consumable, Hardware
from service.domain.measure.length import Size
from service.domain.measure.units import MG_PER_KG
from service.domain.shop import Shop
from service.domain.tickets.model import FrameOn, HardwareUse, StackLayer, SupplyLine


def arts(job: Job) -> tuple[Size, ...]:
    """Return the art sizes: one for each window placed by hand, else the artwork's.

    None for contents that nobody measured, a lite alone, and goods.
    """
    if job.work in (*UNSEEN, *COUNTER, "glass_only"):
        return ()
    if isinstance(job.openings, Placed):
        return tuple(window.artwork.size for window in job.openings.windows)
    return (job.artwork.size,)


def frames_on(made: JobEstimate) -> tuple[FrameOn, ...]:
    """Return the frames, innermost first."""
    return tuple(
        FrameOn(
            item=frame.frame.moulding.code,
            sides=frame.frame.sides,
            holds=frame.holds,
            rabbet=frame.rabbet,
            sight=frame.sight,
            outside=frame.outside,
            face_width=frame.frame.moulding.face_width,
            rabbet_width=frame.frame.moulding.rabbet_width,
            rabbet_depth=frame.frame.moulding.rabbet_depth,
        )
        for frame in made.sizes.frames
    )


def stack(job: Job) -> tuple[StackLayer, ...]:
    """Return the layers in the rabbet, from the lip backwards."""
    return tuple(layer for layer in _layers(job) if layer.thickness)


def _layers(job: Job) -> Iterator[StackLayer]:
    if job.frames and job.frames[0].fillet:
        yield StackLayer("fillet", "rabbet fillet", job.frames[0].fillet.depth)
    if job.glazing:
        yield StackLayer("glazing", "glazing", job.glazing.sheet.thickness)
        yield StackLayer("spacer", "spacer", job.glazing.spacer)
    for position, mat in enumerate(job.mats):
        name = f"mat {position + 1}" if position else "top mat"
        yield StackLayer("mat", name, mat.board.thickness)
        if mat.fillet:
            yield StackLayer("fillet", f"fillet of {name}", mat.fillet.depth)
    yield StackLayer("artwork", "art", art_depth(job))
    for part, board in (("mount", job.mount), ("backing", job.backing)):
        if board:
            yield StackLayer(part, part, board.thickness)


def hardware(made: JobEstimate, shop: Shop) -> tuple[HardwareUse, ...]:
    """Return the hardware for all pieces of the job, with the load that it was chosen for."""
    load = made.weight_mg * shop.safety.hardware_factor / MG_PER_KG
    return tuple(
        HardwareUse(
            item=use.item.code,
            description=use.item.description,
            role=use.item.role,
            quantity=(use.pieces if use.feet is None else use.feet) * made.job.quantity,
            rating_kg=use.item.rating_kg,
            load_kg=load,
            unit="piece" if use.feet is None else "linear_foot",
        )
        for use in made.uses
        if isinstance(use.item, Hardware)
    )


def supplies(made: JobEstimate) -> tuple[SupplyLine, ...]:
    """Return tape, hinges, dust cover and the like, for all pieces of the job."""
    return tuple(
        _supply(use, made.job.quantity) for use in made.uses if isinstance(use.item, Consumable)
    )


def _supply(use: Use, many: int) -> SupplyLine:
    item = use.item
    if use.feet is not None:
        return SupplyLine(item.code, item.description, use.feet * many, "linear_foot")
    if use.area is not None:
        return SupplyLine(item.code, item.description, use.area * many, "square_foot")
    return SupplyLine(item.code, item.description, use.pieces * many, "piece")
