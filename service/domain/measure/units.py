"""The units of lengths and weights, with their factors read once from pint.

Pint is exact only in a registry with `non_int_type=Fraction`, and must never parse a customer's
text (it reads "8 1/2 in" as 4 in), so this module asks it only for factors between units defined
here, and no other module uses pint. The definitions are the exact ones of NIST SP 811, appendix B:
1 in = 25.4 mm, 1 ft = 12 in, 1 lb = 0.45359237 kg. United inches measure a size, not a length, and
have their own dimension, so that they cannot be converted to feet.

>>> TICKS_PER_UNIT["in"], TICKS_PER_UNIT["mm"]
(Fraction(406400, 1), Fraction(16000, 1))
>>> convert(Fraction(1), "lb", "kg")
Fraction(45359237, 100000000)
>>> convert(Fraction(48), "united_inch", "ft")
Traceback (most recent call last):
    ...
service.domain.errors.BadValue: a figure in united_inch cannot be given in ft
"""

from __future__ import annotations

import sys
from fractions import Fraction
from functools import lru_cache

from service.domain.errors import BadValue

# Pint imports numpy if installed, for arrays that are never used here: a tenth of a second and
# 20 MB in every worker. A None entry in sys.modules makes that import fail.
_HIDDEN = "numpy" not in sys.modules
if _HIDDEN:
    sys.modules["numpy"] = None  # type: ignore[assignment]
try:
    import pint
finally:
    if _HIDDEN:
        del sys.modules["numpy"]

MG_PER_KG = 1_000_000
_DEFINITIONS = (
    "millimetre = [length] = mm",
    "tick = millimetre / 16000",
    "centimetre = 10 * millimetre = cm",
    "metre = 1000 * millimetre = m",
    "inch = 25.4 * millimetre = in",
    "foot = 12 * inch = ft",
    "yard = 3 * foot = yd",
    "kilogram = [mass] = kg",
    "gram = kilogram / 1000 = g",
    "pound = 0.45359237 * kilogram = lb",
    "ounce = pound / 16 = oz",
    "united_inch = [united_length] = ui",
)


def _registry() -> pint.UnitRegistry[Fraction]:
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(filename=None, non_int_type=Fraction)
    for definition in _DEFINITIONS:
        registry.define(definition)
    return registry


_REGISTRY = _registry()


@lru_cache(maxsize=256)
def convert(number: Fraction, unit: str, into: str) -> Fraction:
    """Return `number` of `unit` converted to `into`, a unit of the same dimension, exactly.

    Units may be products such as "kg/m**2" or "lb/ft**2".

    Raises:
        BadValue: the units have different dimensions, or one is unknown.
    """
    try:
        result = _REGISTRY.Quantity(number, unit).to(into).magnitude
    except pint.PintError as error:
        raise BadValue(f"a figure in {unit} cannot be given in {into}") from error
    return Fraction(result)


TICKS_PER_UNIT = {
    unit: convert(Fraction(1), unit, "tick") for unit in ("mm", "cm", "m", "in", "ft", "yd")
}
"""The number of ticks of 1/16 µm in one of each unit of length."""
