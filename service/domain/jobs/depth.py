"""Depth: what lies in the rabbet, and the space that floated art and objects lie in.

Art under a mat or a spacer adds its thickness to the stack. Floated art lies free in its window,
and an object lies free behind its spacer: it is inside the space between the glazing and the mount,
and adds only what is deeper than that space.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import Job
from service.domain.measure.length import ZERO, Length

DEEPEST_OFFSET_CLIP = Length.inches(Fraction(1, 2))
"""Offset clips bridge up to about this much (common practice, no source)."""
Fixing = Literal["points", "flat clips", "offset clips", "rabbet extension"]


def held_by(stack: Length, room: Length, behind: Length) -> tuple[Fixing, Length]:
    """Return what holds a package in a wooden rabbet, and the depth that it has to bridge.

    Points need `behind` of wood behind the package. Offset clips bridge what stands out; more than
    that takes an extension of the rabbet, deep enough for the package and for points behind it.
    Common practice, no source.
    """
    over = stack - room
    if over > DEEPEST_OFFSET_CLIP:
        return "rabbet extension", over + behind
    if over.ticks > 0:
        return "offset clips", over
    return ("flat clips" if -over < behind else "points"), ZERO


def depths_held(job: Job, stack: Length) -> list[Length | None]:
    """Return the depth of what each frame holds, innermost first; None where it is not known.

    An outer frame holds the height of the one inside it, and what stands out of that one's rabbet.
    """
    found: list[Length | None] = [stack]
    for frame in job.frames[:-1]:
        moulding, held = frame.moulding, found[-1]
        if held is None or not moulding.height:
            found.append(None)
        else:
            out = max(held.ticks - moulding.rabbet_depth.ticks, 0)
            found.append(Length(moulding.height.ticks + out))
    return found


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
