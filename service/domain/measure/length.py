"""A length, held exactly as a whole number of ticks of 1/16 µm.

The grid is the coarsest on which every 1/64 in (6 350 ticks), every 1/128 in (3 175) and every
0.001 mm (16) falls on a mark, with 1 in = 25.4 mm by definition (NIST SP 811, appendix B). Anything
finer is refused, never rounded: a wrong cut destroys material, a refused job costs a question.

>>> Length.inches("16 3/8".split()[0]) + Length.inches(Fraction(3, 8))
Length(ticks=6654800)
>>> Length.millimetres("415.925") == Length.inches("16.375")
True
>>> Length.millimetres("0.00001")
Traceback (most recent call last):
    ...
service.domain.errors.BadLength: 0.00001 mm is finer than 1/16 µm, the finest length held here
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Final

from service.domain.errors import BadLength
from service.domain.value import dataclass

TICKS_PER_INCH = 406_400
TICKS_PER_FOOT = 12 * TICKS_PER_INCH
TICKS_PER_MM = 16_000
TICKS_PER_64TH = TICKS_PER_INCH // 64
LONGEST = TICKS_PER_FOOT * 200
"""200 ft: nothing a framer handles is longer, while a mistaken unit usually is."""


@dataclass(init=False, slots=True, eq=False)
class Length:
    """A length in `ticks` of 1/16 µm; may be negative, as a difference."""

    ticks: Final[int]

    def __init__(self, ticks: int) -> None:
        self.ticks = ticks

    def __repr__(self) -> str:
        return f"Length(ticks={self.ticks})"

    @classmethod
    def inches(cls, number: Fraction | Decimal | int | str) -> Length:
        """Return the length of `number` inches, exactly.

        Raises:
            BadLength: the number does not fall on the grid of 1/16 µm.
        """
        return cls._exact(number, TICKS_PER_INCH, "in")

    @classmethod
    def millimetres(cls, number: Fraction | Decimal | int | str) -> Length:
        """Return the length of `number` millimetres, exactly.

        Raises:
            BadLength: the number does not fall on the grid of 1/16 µm.
        """
        return cls._exact(number, TICKS_PER_MM, "mm")

    @classmethod
    def _exact(cls, number: Fraction | Decimal | int | str, per_unit: int, unit: str) -> Length:
        ticks = Fraction(number) * per_unit
        if ticks.denominator != 1:
            raise BadLength(
                f"{number} {unit} is finer than 1/16 µm, the finest length held here",
                facts={"given": f"{number} {unit}"},
            )
        return cls(ticks.numerator)

    def in_inches(self) -> Fraction:
        """Return this length in inches, exactly."""
        return Fraction(self.ticks, TICKS_PER_INCH)

    def in_feet(self) -> Fraction:
        """Return this length in feet, exactly."""
        return Fraction(self.ticks, TICKS_PER_FOOT)

    def in_millimetres(self) -> Fraction:
        """Return this length in millimetres, exactly."""
        return Fraction(self.ticks, TICKS_PER_MM)

    def halves(self) -> tuple[Length, Length]:
        """Return two lengths that add up to this one exactly; the first is never the longer."""
        first = self.ticks // 2
        return Length(first), Length(self.ticks - first)

    def __add__(self, other: Length) -> Length:
        return Length(self.ticks + other.ticks)

    def __sub__(self, other: Length) -> Length:
        return Length(self.ticks - other.ticks)

    def __mul__(self, times: int) -> Length:
        return Length(self.ticks * times)

    def __rmul__(self, times: int) -> Length:
        return Length(self.ticks * times)

    def __neg__(self) -> Length:
        return Length(-self.ticks)

    def __bool__(self) -> bool:
        return self.ticks != 0

    def __eq__(self, other: object) -> bool:
        return self.ticks == other.ticks if isinstance(other, Length) else NotImplemented

    def __lt__(self, other: Length) -> bool:
        return self.ticks < other.ticks

    def __le__(self, other: Length) -> bool:
        return self.ticks <= other.ticks

    def __gt__(self, other: Length) -> bool:
        return self.ticks > other.ticks

    def __ge__(self, other: Length) -> bool:
        return self.ticks >= other.ticks

    def __hash__(self) -> int:
        return hash(self.ticks)


ZERO = Length(0)


@dataclass(init=False, slots=True, unsafe_hash=True)
class Size:
    """Width and height, width first as is usual in framing."""

    width: Final[Length]
    height: Final[Length]

    def __init__(
        self,
        width: Length,
        height: Length,
    ) -> None:
        self.width = width
        self.height = height

    def grown(self, each: Length) -> Size:
        """Return this size with `each` added to width and height (in total, not per side)."""
        more = each.ticks
        return Size(Length(self.width.ticks + more), Length(self.height.ticks + more))

    def perimeter(self) -> Length:
        """Return twice the width plus twice the height."""
        return Length(2 * (self.width.ticks + self.height.ticks))

    def united_ticks(self) -> int:
        """Return width plus height, in ticks: the united inches before conversion."""
        return self.width.ticks + self.height.ticks

    def fits_in(self, other: Size, *, turned: bool = False) -> bool:
        """Return True if this fits inside `other` as is or, if `turned`, rotated by 90°."""
        if self.width.ticks <= other.width.ticks and self.height.ticks <= other.height.ticks:
            return True
        return turned and Size(self.height, self.width).fits_in(other)

    def longer(self) -> Length:
        """Return the longer of width and height."""
        return self.width if self.width.ticks >= self.height.ticks else self.height

    def shorter(self) -> Length:
        """Return the shorter of width and height."""
        return self.height if self.width.ticks >= self.height.ticks else self.width


@dataclass(frozen=True, slots=True)
class Sides:
    """One length for each side, clockwise from the top."""

    top: Length
    right: Length
    bottom: Length
    left: Length

    @classmethod
    def all(cls, length: Length) -> Sides:
        """Return the same length on all four sides."""
        return cls(length, length, length, length)

    def across(self) -> Length:
        """Return left plus right."""
        return self.left + self.right

    def down(self) -> Length:
        """Return top plus bottom."""
        return self.top + self.bottom

    def __add__(self, other: Sides) -> Sides:
        return Sides(
            self.top + other.top,
            self.right + other.right,
            self.bottom + other.bottom,
            self.left + other.left,
        )

    def each(self) -> tuple[tuple[str, Length], ...]:
        """Return the sides with their names, clockwise from the top."""
        return (
            ("top", self.top),
            ("right", self.right),
            ("bottom", self.bottom),
            ("left", self.left),
        )

    def narrowest(self) -> Length:
        """Return the smallest of the four."""
        return Length(min(side.ticks for _, side in self.each()))


NO_SIDES = Sides.all(ZERO)
