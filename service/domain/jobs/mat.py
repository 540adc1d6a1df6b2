"""Mats and their windows: boards, bevels, openings, their area and edge."""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction
from functools import lru_cache
from math import isqrt
from typing import Final, Literal

from service.domain.errors import BadValue
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.notes import Note
from service.domain.materials.catalogue import Board, Fillet
from service.domain.measure.length import NO_SIDES, ZERO, Length, Sides, Size
from service.domain.measure.rounding import half_up
from service.domain.value import dataclass

Bevel = Literal["standard", "reverse", "straight"]
BEVELS = ("standard", "reverse", "straight")


@dataclass(frozen=True, slots=True)
class MatSpec:
    """A requested mat. The top one has a border (or the job a fit_to), later ones a reveal.

    `grooves` and `ruled_lines` are distances from the sight edge of each window.
    """

    board: str
    border: Sides | None = None
    reveal: Sides | None = None
    bevel: Bevel = "standard"
    fillet: str = ""
    grooves: tuple[Length, ...] = ()
    ruled_lines: tuple[Length, ...] = ()
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class Mat:
    """One mat: its board, its bevel, its reveal inside the mat above, its fillet.

    `reveal` is zero for the top mat. `grooves` (V-grooves cut in the face) and `ruled_lines` (drawn
    on it) run round every window at these distances from its sight edge.
    """

    board: Board
    bevel: Bevel = "standard"
    reveal: Sides = NO_SIDES
    fillet: Fillet | None = None
    grooves: tuple[Length, ...] = ()
    ruled_lines: tuple[Length, ...] = ()

    def fillet_width(self) -> Length:
        """Return how far the window's fillet narrows the visible opening; zero without one."""
        return self.fillet.width if self.fillet else ZERO

    def face_opening(self, sight: Size) -> Size:
        """Return the window at the board's face, for a window whose sight edge measures `sight`."""
        if self.bevel == "standard":
            return sight.grown(2 * self.board.thickness)
        return sight

    def back_opening(self, sight: Size) -> Size:
        """Return the window at the board's back, which is the side that is marked and cut."""
        if self.bevel == "reverse":
            return sight.grown(2 * self.board.thickness)
        return sight

    def bevel_slope(self) -> Length:
        """Return the width of the 45° slope, t·√2, to the nearest tick; zero for a straight cut."""
        if self.bevel == "straight":
            return ZERO
        doubled = 8 * self.board.thickness.ticks**2
        return Length((isqrt(doubled) + 1) // 2)


Shape = Literal["rectangle", "ellipse", "arch"]
SHAPES = ("rectangle", "ellipse", "arch")
PI = Fraction("3.141592653589793238462643383280")
MOST_WINDOWS = 100


@dataclass(frozen=True, slots=True)
class Single:
    """One window for the job's artwork."""

    shape: Shape = "rectangle"


@dataclass(frozen=True, slots=True)
class Grid:
    """Equal windows in rows and columns; `gutter` is the top mat's bar between two of them."""

    rows: int
    columns: int
    gutter: Length = ZERO
    shape: Shape = "rectangle"

    def __post_init__(self) -> None:
        if self.rows < 1 or self.columns < 1 or self.rows * self.columns > MOST_WINDOWS:
            raise BadValue(f"a grid has 1 to {MOST_WINDOWS} windows", "/rows")


@dataclass(frozen=True, slots=True)
class PlacedWindow:
    """A window placed by hand: the left and top edges of its top mat opening, from the mat's."""

    artwork: Artwork
    x: Length
    y: Length
    shape: Shape = "rectangle"


@dataclass(frozen=True, slots=True)
class Placed:
    """Windows placed by hand, each for its own artwork."""

    windows: tuple[PlacedWindow, ...]

    def __post_init__(self) -> None:
        if not 1 <= len(self.windows) <= MOST_WINDOWS:
            raise BadValue(f"give 1 to {MOST_WINDOWS} windows")


Layout = Single | Grid | Placed


@dataclass(init=False, slots=True, unsafe_hash=True)
class Window:
    """One opening in one mat, by its sight edge."""

    shape: Final[Shape]
    x: Final[Length]
    y: Final[Length]
    size: Final[Size]

    def __init__(
        self,
        shape: Shape,
        x: Length,
        y: Length,
        size: Size,
    ) -> None:
        self.shape = shape
        self.x = x
        self.y = y
        self.size = size

    def right(self) -> Length:
        """Return the right sight edge, from the mat's left edge."""
        return self.x + self.size.width

    def bottom(self) -> Length:
        """Return the bottom sight edge, from the mat's top edge."""
        return self.y + self.size.height

    def shrunk(self, by: Sides) -> Window:
        """Return this window with each of its edges moved inwards."""
        return Window(
            self.shape,
            self.x + by.left,
            self.y + by.top,
            Size(self.size.width - by.across(), self.size.height - by.down()),
        )

    def surrounded(self, by: Length) -> Window:
        """Return the outline at this distance round the window: a groove or a ruled line."""
        return self.shrunk(Sides.all(-by))

    def moved(self, x: Length, y: Length) -> Window:
        """Return this window measured from an origin `x` and `y` further in."""
        return Window(self.shape, self.x - x, self.y - y, self.size)


def square_ticks(window: Window) -> Fraction:
    """Return the window's area in square ticks.

    w·h, π·w·h/4 for an ellipse, or w·(h - w/2) + π·w²/8 for an arch.
    """
    w, h = window.size.width.ticks, window.size.height.ticks
    if window.shape == "rectangle":
        return Fraction(w * h)
    if window.shape == "ellipse":
        return PI * w * h / 4
    return Fraction(w * (2 * h - w), 2) + PI * w * w / 8


def edge_length(window: Window) -> Length:
    """Return the length of the sight edge, to the nearest tick if it involves π.

    The ellipse's is 4·a·E(e), the complete elliptic integral calculated by the arithmetic-geometric
    mean (Abramowitz and Stegun, 17.6, from memory) rather than by an approximation.
    """
    w, h = window.size.width.ticks, window.size.height.ticks
    if window.shape == "rectangle":
        return window.size.perimeter()
    if window.shape == "ellipse":
        return Length(_ellipse_ticks(w, h))
    straight = w + 2 * h - w
    return Length(straight + _rounded(PI * w / 2))


def _rounded(value: Fraction) -> int:
    return half_up(value.numerator, value.denominator)


@lru_cache(maxsize=1024)
def _ellipse_ticks(width: int, height: int) -> int:
    with localcontext() as context:
        context.prec = 40
        a, b = Decimal(max(width, height)) / 2, Decimal(min(width, height)) / 2
        mean, other, weight = a, b, Decimal(1) / 2
        spread = (a * a - b * b) * weight
        while abs(mean - other) > Decimal("1e-12"):
            difference = (mean - other) / 2
            mean, other = (mean + other) / 2, (mean * other).sqrt()
            weight *= 2
            spread += weight * difference * difference
        pi = Decimal(PI.numerator) / Decimal(PI.denominator)
        length = 2 * pi * (a * a - spread) / mean
        return _rounded(Fraction(length))
