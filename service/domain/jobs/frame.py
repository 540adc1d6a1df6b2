"""Frame dimensions: rabbet, sight edge, outside and rails.

rabbet = package + allowance; sight = rabbet - 2·rabbet width; outside = rabbet + 2·(face width -
rabbet width). A rail, long point to long point, is the outside dimension, and its mitre is 180°/n
for a frame of n sides. The outside of one frame is the package of the next.
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction
from functools import lru_cache

from service.domain.errors import BadValue
from service.domain.jobs.mat import PI
from service.domain.materials.catalogue import Fillet, Moulding, Supply
from service.domain.measure.length import Length, Size
from service.domain.measure.rounding import half_up
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Frame:
    """A frame as chosen: its moulding, how it is supplied, number of sides and rabbet fillet.

    `own`: the customer brings it.
    """

    moulding: Moulding
    supply: Supply = "length"
    sides: int = 4
    fillet: Fillet | None = None
    own: bool = False


@dataclass(frozen=True, slots=True)
class FrameSizes:
    """The dimensions of a frame. `holds` is its contents' size; `rabbet` adds the allowance."""

    frame: Frame
    holds: Size
    rabbet: Size
    sight: Size
    outside: Size

    def hidden(self) -> Length:
        """Return how far lip and fillet reach over the contents: R + fillet - allowance/2."""
        fillet = self.frame.fillet.width.ticks if self.frame.fillet else 0
        half = (self.rabbet.width.ticks - self.holds.width.ticks) // 2
        return Length(self.frame.moulding.rabbet_width.ticks + fillet - half)

    def rails(self) -> tuple[tuple[str, int, Length], ...]:
        """Return side, count and long-point length of the rails."""
        if self.frame.sides != 4:
            length = polygon_side(self.outside.width, self.frame.sides)
            return (("each", self.frame.sides, length),)
        return (("top", 2, self.outside.width), ("left", 2, self.outside.height))

    def inner_sides(self) -> tuple[Length, ...]:
        """Return the length of each side of what the frame holds."""
        if self.frame.sides != 4:
            return self.frame.sides * (polygon_side(self.holds.width, self.frame.sides),)
        return 2 * (self.holds.width, self.holds.height)

    def rail_length(self) -> Length:
        """Return the total length of all rails."""
        return Length(sum(many * length.ticks for _, many, length in self.rails()))

    def footage(self) -> Length:
        """Return the billed length of moulding: rabbet perimeter + 8 face widths (cp).

        For n sides the same rule reads perimeter + 2·n·W·tan(180°/n).
        """
        sides, face = self.frame.sides, self.frame.moulding.face_width
        if sides == 4:
            return Length(2 * self.rabbet.united_ticks() + 8 * face.ticks)
        inner = sides * polygon_side(self.rabbet.width, sides)
        return inner + sides * polygon_side(2 * face, sides)


def frame_round(frame: Frame, holds: Size, allowance: Length) -> FrameSizes:
    """Return the sizes of a frame whose rabbet is `holds` plus `allowance` in total."""
    moulding = frame.moulding
    lip, face = moulding.rabbet_width.ticks, moulding.face_width.ticks
    fillet = frame.fillet.width.ticks if frame.fillet else 0
    rabbet = holds.grown(allowance)
    sight = rabbet.grown(Length(-2 * (lip + fillet)))
    outside = rabbet.grown(Length(2 * (face - lip)))
    return FrameSizes(frame, holds, rabbet, sight, outside)


@lru_cache(maxsize=64)
def mitre_degrees(sides: int) -> Fraction:
    """Return the mitre of a regular frame of `sides` sides, in degrees off a square cut: 180/n.

    Raises:
        BadValue: fewer than three sides.
    """
    if sides < 3:
        raise BadValue("a frame has at least three sides", "/sides")
    return Fraction(180, sides)


def polygon_side(across_flats: Length, sides: int) -> Length:
    """Return the side of a regular polygon from its width across flats F: F·tan(180°/n).

    F is twice the inner radius. To the nearest tick.
    """
    tangent = tangent_of_half_turn_over(sides)
    ticks = across_flats.ticks * tangent
    return Length(half_up(ticks.numerator, ticks.denominator))


@lru_cache(maxsize=64)
def tangent_of_half_turn_over(sides: int) -> Fraction:
    """Return tan(180°/n) to 30 places, from the sine and cosine series."""
    mitre_degrees(sides)
    with localcontext() as context:
        context.prec = 45
        angle = Decimal(PI.numerator) / Decimal(PI.denominator) / sides
        sine = term = angle
        cosine = co_term = Decimal(1)
        for step in range(1, 30):
            co_term *= -angle * angle / ((2 * step - 1) * (2 * step))
            term *= -angle * angle / ((2 * step) * (2 * step + 1))
            cosine, sine = cosine + co_term, sine + term
        return Fraction((sine / cosine).quantize(Decimal(10) ** -30))
