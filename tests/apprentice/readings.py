"""Lengths as a hand reads them off paper, in inches, millimetres or centimetres.

A figure marked "≈" lies between two marks of the shop's ruler: the true length is within half a
step of it. A reading therefore has a least and a most; sums keep both. Exact, in millimetres, with
1 in = 25.4 mm (the international inch of 1959).

>>> read("16 3/8", "in", Fraction(1, 16)).least
Fraction(16637, 40)
>>> read("≈416", "mm", Fraction(1)).most
Fraction(833, 2)
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

MM = {"in": Fraction(254, 10), "cm": Fraction(10), "mm": Fraction(1)}
NUMBER = r"≈?-?(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"
_NUMBER = re.compile(r"(≈?)(-?)(?:(\d+) )?(\d+)/(\d+)|(≈?)(-?\d+(?:\.\d+)?)")
GRID = Fraction(1, 1000)
"""What may differ, in millimetres: halves and tangents go to the nearest 1/16 µm."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A length between `least` and `most`, in millimetres."""

    least: Fraction
    most: Fraction

    def __add__(self, other: Reading) -> Reading:
        return Reading(self.least + other.least, self.most + other.most)

    def __sub__(self, other: Reading) -> Reading:
        return Reading(self.least - other.most, self.most - other.least)

    def is_(self, length: Fraction) -> bool:
        """Return True if the true length may be this one."""
        return self.least - GRID <= length <= self.most + GRID

    def meets(self, other: Reading) -> bool:
        """Return True if both may be the same length."""
        return self.least - GRID <= other.most and other.least - GRID <= self.most

    def middle(self) -> Fraction:
        """Return the figure as printed."""
        return (self.least + self.most) / 2


def read(text: str, unit: str, step: Fraction) -> Reading:
    """Return the reading of a printed number; `step` is the ruler's, in millimetres.

    Raises:
        ValueError: not a number as tickets print them.
    """
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise ValueError(f"no length: {text!r}")
    if found[5]:
        value = int(found[3] or 0) + Fraction(int(found[4]), int(found[5]))
        about, value = found[1], -value if found[2] else value
    else:
        about, value = found[6], Fraction(found[7])
    doubt = step / 2 if about else Fraction(0)
    return Reading(value * MM[unit] - doubt, value * MM[unit] + doubt)


def read_figure(text: str, unit: str, step: Fraction) -> Reading:
    """Return the reading of a number that carries its unit, which must be the shop's: 16 3/8 in."""
    number, _, printed = text.rpartition(" ")
    if printed != unit:
        raise ValueError(f"not in {unit}: {text!r}")
    return read(number, unit, step)
