"""A drawing: strokes, rectangles, window outlines and texts, with the box of each text.

A text's box is computed from the advance widths of DejaVu Sans Condensed (the font in the printed
ticket), so that texts can be laid out without overlapping; the SVG scales every text to that width
whatever font it is shown in.
"""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from typing import Literal

from service.domain.jobs.mat import Shape
from service.domain.measure.length import TICKS_PER_INCH, Length
from service.domain.measure.rounding import half_up, up
from service.domain.value import dataclass

POINT = 100
"""Units per point."""
UNITS_PER_INCH = 72 * POINT
TEXT = 7 * POINT
"""The height of dimension texts."""
GAP = POINT
"""The minimum distance between two texts."""
_WIDTHS = (
    286, 361, 414, 754, 573, 855, 702, 248, 352, 352, 450, 754, 286, 325, 286, 304,
    573, 573, 573, 573, 573, 573, 573, 573, 573, 573, 304, 304, 754, 754, 754, 478,
    900, 616, 618, 629, 693, 569, 518, 698, 677, 266, 266, 590, 501, 777, 673, 709,
    543, 709, 625, 572, 550, 659, 616, 890, 617, 550, 617, 352, 304, 352, 754, 450,
    450, 552, 572, 495, 572, 554, 317, 572, 571, 250, 250, 521, 250, 877, 571, 551,
    572, 572, 370, 469, 353, 571, 533, 736, 533, 533, 473, 573, 304, 573, 754,
)  # fmt: skip
"""Advance widths in thousandths of the font's height, rounded up, for the characters 32 to 126."""
_WIDE = 900
"""For any other character: the width of the widest one used here."""

Anchor = Literal["start", "middle", "end"]
Tone = Literal["none", "white", "pale", "mid", "dark"]
Line = Literal["solid", "dashed", "dotted"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line; `weight` in hundredths of a point."""

    x1: int
    y1: int
    x2: int
    y2: int
    weight: int = 50
    line: Line = "solid"


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed polygon."""

    points: tuple[tuple[int, int], ...]
    tone: Tone = "none"
    weight: int = 50
    line: Line = "solid"


@dataclass(frozen=True, slots=True)
class Outline:
    """A window's outline in its bounding rectangle."""

    shape: Shape
    x: int
    y: int
    width: int
    height: int
    tone: Tone = "none"
    weight: int = 50
    line: Line = "solid"


@dataclass(frozen=True, slots=True)
class Dot:
    """A filled dot, the end of a dimension."""

    x: int
    y: int
    radius: int = 110


@dataclass(frozen=True, slots=True)
class Box:
    """The bounding box of a text."""

    left: int
    top: int
    right: int
    bottom: int

    def meets(self, other: Box) -> bool:
        """Return True if the two overlap."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


@dataclass(frozen=True, slots=True)
class Text:
    """A text at its anchor: `y` is the middle of its height. `upright` text reads upwards."""

    x: int
    y: int
    text: str
    size: int = TEXT
    anchor: Anchor = "middle"
    upright: bool = False

    def width(self) -> int:
        """Return its length."""
        return text_width(self.text, self.size)

    def box(self) -> Box:
        """Return its bounding box."""
        long, high = self.width(), self.size
        before = {"start": 0, "middle": long // 2, "end": long}[self.anchor]
        if self.upright:
            bottom = self.y + before
            return Box(self.x - high // 2, bottom - long, self.x + (high + 1) // 2, bottom)
        left = self.x - before
        return Box(left, self.y - high // 2, left + long, self.y + (high + 1) // 2)


def text_width(text: str, size: int) -> int:
    """Return the length of a text of this height, rounded up."""
    wide = sum(_WIDTHS[ord(c) - 32] if 32 <= ord(c) < 127 else _WIDE for c in text)
    return up(wide * size, 1000)


Mark = Stroke | Polygon | Outline | Dot | Text


@dataclass(slots=True)
class Drawing:
    """A drawing of a given width and height, with a title that says what it shows.

    `scale` holds as long as the drawing is printed at its own width and height.

    `notes` are printed below it: what is not to scale, what the letters mean.
    """

    title: str
    scale: str
    width: int
    height: int
    marks: list[Mark] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def texts(self) -> list[Text]:
        """Return all texts."""
        return [mark for mark in self.marks if isinstance(mark, Text)]

    def write_if_room(self, text: Text) -> bool:
        """Write a text unless it overlaps another one or leaves the sheet."""
        box = text.box()
        if box.left < 0 or box.top < 0 or box.right > self.width or box.bottom > self.height:
            return False
        if any(box.meets(other.box()) for other in self.texts()):
            return False
        self.marks.append(text)
        return True

    def rectangle(
        self, x: int, y: int, width: int, height: int, tone: Tone = "none", weight: int = 50,
        line: Line = "solid",
    ) -> None:  # fmt: skip
        """Draw a rectangle, given its top left corner."""
        points = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self.marks.append(Polygon(points, tone, weight, line))


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
        return f"1 : {tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "")
