"""The scale of a drawing, and the largest one at which a view and its dimensions fit a page."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from service.domain.measure.length import TICKS_PER_INCH, Length
from service.domain.measure.rounding import half_up
from service.domain.value import dataclass
from service.printing.drawing.lettering import POINT, UNITS_PER_INCH
from service.printing.drawing.sheet import Drawing
from service.printing.language.spoken import number

AROUND = 2 * POINT
"""The least distance from the drawing's edge to anything drawn."""
FAR = 1_000 * UNITS_PER_INCH
TRIES = 5


@dataclass(frozen=True, slots=True)
class Scale:
    """The mapping from lengths to coordinates: units per tick, and the origin."""

    per_tick: Fraction
    left: int = 0
    top: int = 0

    @classmethod
    def to_fit(cls, width: Length, height: Length, room: tuple[int, int]) -> Scale:
        """Return the largest scale at which a width and a height fit into `room`; at most 1 : 1."""
        largest = min(
            Fraction(room[0], max(width.ticks, 1)),
            Fraction(room[1], max(height.ticks, 1)),
            Fraction(UNITS_PER_INCH, TICKS_PER_INCH),
        )
        return cls(largest)

    def at(self, left: int, top: int) -> Scale:
        """Return the same scale with its origin elsewhere."""
        return Scale(self.per_tick, left, top)

    def from_here(self, x: Length, y: Length) -> Scale:
        """Return the same scale with its origin at a point."""
        return self.at(self.x(x), self.y(y))

    def long(self, length: Length) -> int:
        """Return a length on paper."""
        return half_up(length.ticks * self.per_tick.numerator, self.per_tick.denominator)

    def x(self, length: Length) -> int:
        """Return an x coordinate."""
        return self.left + self.long(length)

    def y(self, length: Length) -> int:
        """Return a y coordinate."""
        return self.top + self.long(length)

    def ratio_text(self) -> str:
        """Return the scale as text: 1 : 6.2."""
        full = Fraction(UNITS_PER_INCH, TICKS_PER_INCH)
        tenths = half_up(*(10 * full / self.per_tick).as_integer_ratio())
        shown = f"{tenths // 10}.{tenths % 10}" if tenths % 10 else str(tenths // 10)
        return f"1 : {number(shown)}"


Compose = Callable[[Scale, int, int], Drawing | None]
"""Draws a view at a scale, in a drawing of a width and a height; None if a number has no room."""


def fitted(
    compose: Compose, width: Length, height: Length, room: tuple[int, int]
) -> Drawing | None:
    """Return a view of this width and height with its dimensions, as large as fits into `room`.

    The view is drawn on an endless sheet first, which shows how much room the dimensions take. None
    if it cannot be made to fit.
    """
    scale = Scale.to_fit(width, height, room)
    for _ in range(TRIES):
        trial = compose(scale.at(FAR, FAR), 2 * FAR, 2 * FAR)
        if trial is None:
            return None
        box = trial.extent().grown(AROUND)
        wide, high = box.right - box.left, box.bottom - box.top
        if wide <= room[0] and high <= room[1]:
            return compose(scale.at(FAR - box.left, FAR - box.top), wide, high)
        beside, over = wide - scale.long(width), high - scale.long(height)
        if beside >= room[0] or over >= room[1]:
            return None
        scale = Scale.to_fit(width, height, (room[0] - beside, room[1] - over))
    return None
