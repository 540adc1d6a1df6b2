"""A drawing: strokes, rectangles, window outlines and texts, with the box of each text.

A text's box comes from the font's own widths, so that texts can be laid out without overlapping;
the SVG scales every text to that width whatever font it is shown in. Line widths follow ISO 128:
outlines 0.7 and 0.5 mm, dimension lines 0.25 mm, extension lines 0.18 mm.
"""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from service.domain.jobs.mat import Shape
from service.domain.value import dataclass
from service.printing.drawing.lettering import (
    APART,
    CAPITALS,
    millimetres,
    text_width,
)

HEAVY, WIDE, MEDIUM = millimetres(7), millimetres(5), 100
THIN, HAIR = 71, 51
"""Line widths: 0.7, 0.5, 0.35, 0.25 and 0.18 mm."""

Anchor = Literal["start", "middle", "end"]
Tone = Literal["none", "white", "pale", "mid", "dark", "black"]
Line = Literal["solid", "dashed", "dotted", "chain"]
"""Visible edges, hidden edges, lines to cut, and centre lines (ISO 128)."""


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
    """A filled dot, the end of a leader inside of what it names."""

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

    def grown(self, by: int) -> Box:
        """Return the box with so much more on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


@dataclass(frozen=True, slots=True)
class Text:
    """A text at its anchor: `y` is the middle of its height. `upright` text reads upwards."""

    x: int
    y: int
    text: str
    anchor: Anchor = "middle"
    upright: bool = False

    def width(self) -> int:
        """Return its length."""
        return text_width(self.text)

    def box(self) -> Box:
        """Return the bounding box of its capitals."""
        long, half = self.width(), CAPITALS // 2
        before = {"start": 0, "middle": long // 2, "end": long}[self.anchor]
        if self.upright:
            bottom = self.y + before
            return Box(self.x - half, bottom - long, self.x + half, bottom)
        left = self.x - before
        return Box(left, self.y - half, left + long, self.y + half)


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

    def extent(self) -> Box:
        """Return the bounding box of all marks."""
        boxes = [_extent(mark) for mark in self.marks]
        return Box(
            min(box.left for box in boxes),
            min(box.top for box in boxes),
            max(box.right for box in boxes),
            max(box.bottom for box in boxes),
        )

    def write_if_room(self, text: Text) -> bool:
        """Write a text unless it leaves the sheet or comes nearer to another than its height."""
        box = text.box()
        if box.left < 0 or box.top < 0 or box.right > self.width or box.bottom > self.height:
            return False
        around = box.grown(APART)
        if any(around.meets(other.box()) for other in self.texts()):
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


def _extent(mark: Mark) -> Box:
    if isinstance(mark, Text):
        return mark.box()
    if isinstance(mark, Outline):
        return Box(mark.x, mark.y, mark.x + mark.width, mark.y + mark.height)
    if isinstance(mark, Dot):
        return Box(mark.x, mark.y, mark.x, mark.y).grown(mark.radius)
    if isinstance(mark, Stroke):
        points: tuple[tuple[int, int], ...] = ((mark.x1, mark.y1), (mark.x2, mark.y2))
    else:
        points = mark.points
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))
