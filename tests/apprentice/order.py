"""What was ordered: pieces, windows and frames, exact, in millimetres; and plane geometry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import isqrt
from typing import Any

ZERO = Fraction(0)
Size = tuple[Fraction, Fraction]


@dataclass(frozen=True, slots=True)
class Window:
    """A window of a mat, from the package's left and top edges, seen from the front."""

    shape: str
    x: Fraction
    y: Fraction
    width: Fraction
    height: Fraction


@dataclass(slots=True)
class Mat:
    """A mat as ordered: its blank, how far that is inside the package, its windows."""

    board: str
    blank: Size
    trim: Fraction
    bevel: str
    fillet: Mapping[str, Any] | None
    windows: list[Window]
    grooves: list[Fraction] = field(default_factory=list)
    ruled_lines: list[Fraction] = field(default_factory=list)


@dataclass(slots=True)
class Framed:
    """A frame as ordered."""

    moulding: Mapping[str, Any]
    fillet: Mapping[str, Any] | None
    supply: str
    sides: int
    holds: Size
    rabbet: Size
    sight: Size
    outside: Size


@dataclass(slots=True)
class Order:
    """Everything ordered, for one piece; `quantity` pieces are alike."""

    quantity: int
    job: Mapping[str, Any]
    arts: list[Size] = field(default_factory=list)
    art_places: list[tuple[Size, Fraction, Fraction]] = field(default_factory=list)
    mats: list[Mat] = field(default_factory=list)
    package: Size | None = None
    frames: list[Framed] = field(default_factory=list)
    allowance: Fraction = ZERO
    depth: Fraction = ZERO
    gap: Fraction = ZERO
    spacer: Fraction = ZERO
    art_thickness: Fraction = ZERO
    objects: list[Size] = field(default_factory=list)

    @property
    def outside(self) -> Size:
        """The outermost frame's outside; without a frame, the package."""
        if self.frames:
            return self.frames[-1].outside
        if self.package:
            return self.package
        wide, high = self.arts[0]
        return wide + 2 * self.gap, high + 2 * self.gap


def side_of(across: Fraction, sides: int) -> Fraction:
    """Return a regular polygon's side from its width across flats, to within a micrometre."""
    root = {8: _root(2) - 1, 12: 2 - _root(3)}[sides]
    return across * root


def sides_of(frame: Framed) -> list[Fraction]:
    """Return the length of each side of what a frame holds."""
    if frame.sides != 4:
        return [side_of(frame.holds[0], frame.sides)] * frame.sides
    return [*frame.holds, *frame.holds]


def _root(value: int) -> Fraction:
    return Fraction(isqrt(value * 10**40), 10**20)


def up(value: Fraction) -> int:
    """Return the next whole number, or the value if it is one."""
    return -(-value.numerator // value.denominator)


def root_up(square: Fraction) -> Fraction:
    """Return a square root to within 10^-9, not below it."""
    return Fraction(isqrt(up(square * 10**18)) + 1, 10**9)
