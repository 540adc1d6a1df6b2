"""Depth: what lies in the rabbet, and the space that floated art and objects lie in.

Art under a mat or a spacer adds its thickness to the stack. Floated art lies free in its window,
and an object lies free behind its spacer: it is inside the space between the glazing and the mount,
and adds only what is deeper than that space.
"""

from __future__ import annotations

from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import Job
from service.domain.measure.length import ZERO, Length


def space(job: Job, artwork: Artwork) -> Length | None:
    """Return the depth of the space that an artwork lies in; None if it lies under something.

    Floated art has the spacer, the mats and their fillets round it. An object that is not floated
    has the spacer round it.
    """
    spacer = job.glazing.spacer.ticks if job.glazing else 0
    if job.presentation == "float":
        return Length(spacer + sum(_mat_depth(job)))
    return Length(spacer) if spacer and artwork.kind == "object" else None


def art_depth(job: Job) -> Length:
    """Return what the art adds to the stack: the most that any one of the artworks adds."""
    return Length(max(_added(job, artwork) for artwork in job.artworks()))


def _added(job: Job, artwork: Artwork) -> int:
    inside = space(job, artwork) or ZERO
    return max(artwork.thickness.ticks - inside.ticks, 0)


def stack_depth(job: Job) -> Length:
    """Return the depth of all that lies in the rabbet: glazing, spacer, mats, art, boards."""
    ticks = art_depth(job).ticks + sum(_mat_depth(job))
    if job.glazing:
        ticks += job.glazing.sheet.thickness.ticks + job.glazing.spacer.ticks
    if job.frames and job.frames[0].fillet:
        ticks += job.frames[0].fillet.depth.ticks
    for board in (job.mount, job.backing):
        if board:
            ticks += board.thickness.ticks
    return Length(ticks)


def _mat_depth(job: Job) -> list[int]:
    """Return the thickness of each mat with its fillet, in ticks."""
    return [
        mat.board.thickness.ticks + (mat.fillet.depth.ticks if mat.fillet else 0)
        for mat in job.mats
    ]
