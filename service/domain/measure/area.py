"""Exact areas and united inches of a size.

One square inch is 406 400² square ticks; 1 sq ft = 144 sq in (NIST SP 811, appendix B).
United inches are width plus height, in inches (never a box's three dimensions), and do not
determine the area: 20 x 20 and 10 x 30 are both 40 united inches, but 400 and 300 sq in.

>>> from service.domain.measure.length import Length
>>> size = Size(Length.inches("22.625"), Length.inches("26.75"))
>>> united_inches(size), square_inches(size)
(Fraction(395, 8), Fraction(19367, 32))
"""

from __future__ import annotations

from fractions import Fraction

from service.domain.measure.length import TICKS_PER_INCH, TICKS_PER_MM, Size

_PER_SQUARE_INCH = TICKS_PER_INCH**2
SQUARE_TICKS_PER_SQUARE_FOOT = 144 * _PER_SQUARE_INCH
_PER_SQUARE_METRE = (TICKS_PER_MM * 1000) ** 2


def united_inches(size: Size) -> Fraction:
    """Return width plus height, in inches."""
    return Fraction(size.width.ticks + size.height.ticks, TICKS_PER_INCH)


def square_inches(size: Size) -> Fraction:
    """Return width times height, in square inches."""
    return Fraction(size.width.ticks * size.height.ticks, _PER_SQUARE_INCH)


def square_feet(size: Size) -> Fraction:
    """Return width times height, in square feet."""
    return Fraction(size.width.ticks * size.height.ticks, SQUARE_TICKS_PER_SQUARE_FOOT)


def square_metres(size: Size) -> Fraction:
    """Return width times height, in square metres."""
    return Fraction(size.width.ticks * size.height.ticks, _PER_SQUARE_METRE)
