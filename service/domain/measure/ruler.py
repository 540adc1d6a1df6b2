"""Formats lengths: exact decimals for programs, a mark on the shop's ruler for people.

The mark is the nearest one (a tie goes up), prefixed with "≈" if the length lies between marks, so
that a rounded figure is not taken for an exact one. Inch rulers show fractions in lowest terms,
metric ones decimals.

>>> sixteenths = Ruler("in", Length.inches(Fraction(1, 16)))
>>> sixteenths.mark(Length.inches("16.375")), sixteenths.mark(Length.millimetres(416))
('16 3/8', '≈16 3/8')
>>> Ruler("cm", Length.millimetres(1)).mark(Length.millimetres(416))
'41.6'
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from service.domain.errors import BadValue
from service.domain.measure.length import TICKS_PER_INCH, TICKS_PER_MM, Length
from service.domain.measure.rounding import decimal_text, half_up
from service.domain.value import dataclass

RulerUnit = Literal["in", "mm", "cm"]
_TICKS = {"in": TICKS_PER_INCH, "mm": TICKS_PER_MM, "cm": 10 * TICKS_PER_MM}
INCH_PLACES = 7
"""Every 1/128 in ends within seven places, and two neighbouring ticks differ in the sixth."""


@dataclass(frozen=True, slots=True)
class Ruler:
    """The ruler used at the bench: its unit and the distance between two marks."""

    unit: RulerUnit
    step: Length

    def __post_init__(self) -> None:
        if self.unit not in _TICKS:
            raise BadValue(f"a ruler reads in, mm or cm, not {self.unit}", "/unit")
        if self.step.ticks <= 0 or _TICKS[self.unit] % self.step.ticks:
            raise BadValue("a whole number of marks must fill the ruler's unit", "/step")
        if _TICKS[self.unit] // self.step.ticks % 127 == 0:
            # 25.4 = 127/5, so 127 marks of 0.2 mm would fill an inch; no such ruler is made.
            raise BadValue("an inch is marked in fractions or decimals of an inch", "/step")

    def mark(self, length: Length) -> str:
        """Return the nearest mark, without unit, prefixed with "≈" if `length` lies between."""
        return _mark(length.ticks, self.unit, self.step.ticks)

    def with_unit(self, length: Length) -> str:
        """Return the mark and its unit, for a sentence: 16 3/8 in."""
        return f"{self.mark(length)} {self.unit}"


@lru_cache(maxsize=2_048)
def _mark(ticks: int, unit: str, step: int) -> str:
    marks = half_up(ticks, step)
    per_unit = _TICKS[unit]
    on_mark = "" if marks * step == ticks else "≈"
    per = per_unit // step
    if unit != "in" or per & (per - 1):
        return on_mark + decimal_text(marks * step, per_unit, INCH_PLACES)
    whole, part = divmod(abs(marks), per)
    sign = "-" if marks < 0 else ""
    if not part:
        return f"{on_mark}{sign}{whole}"
    fraction = Fraction(part, per)
    shown = f"{fraction.numerator}/{fraction.denominator}"
    return f"{on_mark}{sign}{whole} {shown}" if whole else f"{on_mark}{sign}{shown}"


def exact_ruler(shop: Ruler, lengths: Iterable[Length]) -> Ruler | None:
    """Return the first ruler on which all lengths are marks; None if there is none.

    The shop's own comes first, then finer ones of its unit, then those of the other unit: a job
    given in millimetres is read in millimetres in a shop that works in inches, and the reverse.
    """
    ticks = [length.ticks for length in lengths]
    for ruler in (shop, *_finer(shop), *_other(shop)):
        if not any(each % ruler.step.ticks for each in ticks):
            return ruler
    return None


_MILLIMETRES = (Ruler("mm", Length(TICKS_PER_MM // 10)), Ruler("mm", Length(TICKS_PER_MM // 100)))
_INCHES = tuple(Ruler("in", Length(TICKS_PER_INCH // parts)) for parts in (16, 32, 64))


def _finer(shop: Ruler) -> Iterator[Ruler]:
    if shop.unit == "in":
        yield from (ruler for ruler in _INCHES if ruler.step < shop.step)
    else:
        tenth = _MILLIMETRES[0].step
        yield from [Ruler(shop.unit, tenth)] if tenth < shop.step else []


def _other(shop: Ruler) -> tuple[Ruler, ...]:
    return _MILLIMETRES if shop.unit == "in" else _INCHES


def length_texts(ticks: int, ruler: Ruler) -> tuple[str, str, str]:
    """Return the forms in which the API gives a length: inches, millimetres, the ruler's mark.

    Millimetres are always exact. Inches are exact if the decimal inch terminates within seven
    places, else rounded half up there, which still identifies a single tick.
    """
    return (
        decimal_text(ticks, TICKS_PER_INCH, INCH_PLACES),
        decimal_text(ticks, TICKS_PER_MM, INCH_PLACES),
        _mark(ticks, ruler.unit, ruler.step.ticks),
    )
