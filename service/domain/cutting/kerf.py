"""What a mitre cut takes along the stick, rounded up to the whole unit.

A blade of thickness b that crosses the stick at an angle takes b / cos(angle) of its length. A
frame of n sides is mitred at 180/n degrees, so four sides take b times the root of 2. Rounded up,
since a rail too short is waste and a plan too tight cannot be cut. Plain geometry: 1 / cos^2 of
180/n is p - root(q) with the whole or rational p and q below.

Example:
    >>> kerf_at_mitre(10)        # 14.14 on a four-sided frame
    15
    >>> kerf_at_mitre(10, 8)     # an octagon is mitred at 22.5 degrees: 10.82
    11
"""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

from service.domain.errors import BadValue

_SQUARED_SECANT: dict[int, tuple[Fraction, int]] = {
    3: (Fraction(4), 0),  # 60 degrees
    4: (Fraction(2), 0),  # 45 degrees
    6: (Fraction(4, 3), 0),  # 30 degrees
    8: (Fraction(4), 8),  # 22.5 degrees: 4 - root 8
    12: (Fraction(8), 48),  # 15 degrees: 8 - root 48
}


def kerf_at_mitre(blade: int, sides: int = 4) -> int:
    """The least whole kerf along the stick that a mitre cut of an n-sided frame needs.

    Args:
        blade: thickness of the cut square to the blade, in any whole unit.
        sides: sides of the frame: 3, 4, 6, 8 or 12.

    Raises:
        BadValue: a negative blade, or a number of sides that is not held here.
    """
    if type(blade) is not int or blade < 0:
        raise BadValue(f"a blade's thickness must be a whole number from 0, not {blade!r}")
    if sides not in _SQUARED_SECANT:
        raise BadValue(f"mitre kerf is held for 3, 4, 6, 8 and 12 sides, not {sides!r}")
    rational, root = _SQUARED_SECANT[sides]
    # A guess from below by whole roots, then the exact test, one unit at a time.
    squared = int(rational * blade * blade) - isqrt(root * blade**4) - 1
    kerf = isqrt(max(0, squared))
    while not _covers(kerf, blade, rational, root):
        kerf += 1
    return kerf


def _covers(kerf: int, blade: int, rational: Fraction, root: int) -> bool:
    # kerf^2 >= (rational - root(root)) blade^2, with no root taken.
    short = rational * blade * blade - kerf * kerf
    return short <= 0 or short * short <= root * blade**4
