"""The glazing of a job: its sheet, the spacer that keeps it off the art, and how plastics move."""

from __future__ import annotations

from fractions import Fraction

from service.domain.materials.catalogue import Consumable, Glazing
from service.domain.measure.length import ZERO, Length
from service.domain.value import dataclass

EXPANSION_PER_DEGREE_F = {
    "glass": Fraction(5, 1_000_000),
    "acrylic": Fraction(40, 1_000_000),
    "polycarbonate": Fraction(38, 1_000_000),
}
"""Length per length and degree Fahrenheit. Glass: EN 572-1, 9e-6 per K. Acrylic 4.0e-5 and
polycarbonate 3.8e-5 per °F: sheet makers' technical notes."""


@dataclass(frozen=True, slots=True)
class GlazingChoice:
    """A sheet of glazing, the depth of the spacer under it (nothing for none), and its item."""

    sheet: Glazing
    spacer: Length = ZERO
    spacer_item: Consumable | None = None

    @property
    def plastic(self) -> bool:
        """Whether it moves as plastics do."""
        return self.sheet.kind != "glass"


def movement(kind: str, length: Length, degrees_f: Fraction) -> Fraction:
    """How much a sheet grows over a change of temperature, in inches: length · change · rate."""
    return length.in_inches() * degrees_f * EXPANSION_PER_DEGREE_F[kind]
