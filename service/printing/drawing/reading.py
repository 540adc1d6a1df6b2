"""The unit of a view: one for all its sizes, in which they are exact, and chains that close."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from service.domain.measure.length import TICKS_PER_MM, Length, Size
from service.domain.measure.rounding import half_up
from service.domain.measure.ruler import Ruler, exact_ruler
from service.domain.value import dataclass
from service.printing.language.phrases import told
from service.printing.language.spoken import _

TENTH = Ruler("mm", Length(TICKS_PER_MM // 10))
NOTES = {
    "in": "all sizes in inches",
    "mm": "all sizes in millimetres",
    "cm": "all sizes in centimetres",
}


@dataclass(frozen=True, slots=True)
class Reading:
    """The ruler that a view's sizes are read on, and the shop's own.

    `exact` is False if no ruler has them all: then they are rounded to `ruler`.
    """

    ruler: Ruler
    shop: Ruler
    exact: bool

    @classmethod
    def of(cls, shop: Ruler, lengths: Iterable[Length]) -> Reading:
        """Return the reading of a view with these lengths: on the shop's ruler if that has them."""
        found = exact_ruler(shop, lengths)
        return cls(found or TENTH, shop, found is not None)

    def mark(self, length: Length) -> str:
        """Return a size as written in the view, without its unit.

        In a view that is exact but for this size, as an outside, "≈" says that it is rounded.
        """
        return told(self.ruler.mark(length if self.exact else self._rounded(length)))

    def parts(self, points: Sequence[Length]) -> list[str]:
        """Return the distances between neighbours, which add up to the whole as it is written.

        Where they are rounded, it is each point's distance from the first one that is rounded; a
        part is the difference of two of them. So it is less than one step off its true size.
        """
        from_first = [self._rounded(point - points[0]) for point in points]
        return [told(self.ruler.mark(to - start)) for start, to in pairwise(from_first)]

    def both(self, length: Length) -> str:
        """Return a size, and beside it what the shop's ruler says if the view's is another."""
        if self.ruler.unit == self.shop.unit:
            return self.mark(length)
        return f"{self.mark(length)} ({told(self.shop.with_unit(length))})"

    def by(self, size: Size) -> str:
        """Return a width and a height."""
        return f"{self.mark(size.width)} x {self.mark(size.height)}"

    def note(self) -> str:
        """Return the note of the unit, and of what is rounded."""
        unit = _(NOTES[self.ruler.unit])
        if self.exact:
            return unit
        step = told(self.ruler.with_unit(self.ruler.step))
        rounded = "{unit}, rounded to {step}; parts add up to the whole, each within {step}"
        return _(rounded, unit=unit, step=step)

    def _rounded(self, length: Length) -> Length:
        step = self.ruler.step.ticks
        return Length(half_up(length.ticks, step) * step)


def runs(numbers: list[int]) -> str:
    """Return numbers with runs joined: 1 to 4, 7."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return ", ".join(
        _("{first} to {last}", first=r[0], last=r[-1]) if len(r) > 1 else str(r[0]) for r in found
    )
