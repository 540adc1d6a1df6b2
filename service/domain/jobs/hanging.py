"""Hanging: the place of the rings behind a frame, and the length of the wire between them.

The rings sit a part of the height down and a little inside the frame's edges. The wire rises in the
middle by a part of the span between the rings, but its top stays below the frame's upper edge. With
span s and rise r the wire is 2·√((s/2)² + r²) long, plus an end on each side for the knot, and
carries T/W = √((s/2)² + r²) / (2·r) of the weight at each ring (statics). A rise of s/5 gives 1.35;
the parts, the inset and the ends are settings of the shop (common practice, no source).
"""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

from service.domain.jobs.job import Job
from service.domain.materials.catalogue import Moulding
from service.domain.measure.length import ZERO, Length, Size
from service.domain.measure.rounding import half_up, up
from service.domain.shop import Hanging, Shop
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Hung:
    """The places and lengths of a piece's hanging, measured on its back.

    Attributes:
        ring_drop: from the frame's upper edge down to the rings.
        ring_inset: from each upright edge inwards to its ring.
        span: from ring to ring.
        rise: how far the middle of the wire stands above the rings.
        wire: the wire to cut, with the ends for both knots, rounded up; zero without a wire.
    """

    ring_drop: Length
    ring_inset: Length
    span: Length
    rise: Length
    wire: Length

    def flat(self) -> bool:
        """Return True if the wire would carry more than twice the weight at each ring.

        T/W > 2 where s² > 60·r²; 15° above level gives 1.93 (statics).
        """
        return bool(self.wire) and self.span.ticks**2 > 60 * self.rise.ticks**2


def hung(outside: Size, hanging: Hanging, rails: Moulding | None = None) -> Hung:
    """Return the hanging of a piece of this outside size, whose outer frame is of `rails`.

    Lengths go to the nearest tick; the wire goes up to the shop's step.
    """
    inset = _inset(outside, hanging, rails)
    drop = _part(outside.height, hanging.ring_parts)
    span = outside.width - 2 * inset
    rise = max(min(_part(span, hanging.wire_parts), drop - hanging.wire_below), ZERO)
    square = span.ticks**2 + 4 * rise.ticks**2
    run = isqrt(square - 1) + 1 if square else 0
    run += 2 * hanging.wire_knot.ticks
    step = hanging.wire_step.ticks or 1
    return Hung(drop, inset, span, rise, Length(up(run, step) * step))


def _inset(outside: Size, hanging: Hanging, rails: Moulding | None) -> Length:
    """Return how far in the rings are: at most a quarter of the width, and always on the rails.

    Where the rail behind its rabbet is narrower than the shop's inset, they sit in the middle of
    its face (common practice, no source).
    """
    inset = min(hanging.ring_inset, Length(outside.width.ticks // 4))
    if rails is not None and inset > rails.face_width - rails.rabbet_width:
        return Length(rails.face_width.ticks // 2)
    return inset


def hanging(job: Job, outside: Size, shop: Shop) -> Hung | None:
    """Return how a job of this outside size hangs; None without hangers or a wire.

    Without a wire its rise and its length are zero.
    """
    if not job.finishing:
        return None
    roles = {use.role for method in job.finishing for use in method.uses}
    if not roles & {"hanger", "wire"}:
        return None
    found = hung(outside, shop.hanging, outer_rails(job))
    if "wire" in roles:
        return found
    return Hung(found.ring_drop, found.ring_inset, found.span, ZERO, ZERO)


def outer_rails(job: Job) -> Moulding | None:
    """Return the moulding of a job's outermost frame; None without a frame."""
    return job.frames[-1].moulding if job.frames else None


def _part(whole: Length, parts: Fraction) -> Length:
    return Length(half_up(whole.ticks * parts.denominator, parts.numerator))
