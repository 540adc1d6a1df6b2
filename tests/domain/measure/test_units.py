"""Units and their factors, against NIST's as scipy carries them."""

import timeit
from fractions import Fraction

import pint
import pytest
import scipy.constants

from service.domain.errors import BadValue
from service.domain.measure.units import TICKS_PER_UNIT, convert

ONE = Fraction(1)


@pytest.mark.parametrize(
    ("unit", "into", "factor"),
    [
        ("in", "m", scipy.constants.inch),
        ("ft", "m", scipy.constants.foot),
        ("yd", "m", scipy.constants.yard),
        ("lb", "kg", scipy.constants.pound),
        ("oz", "kg", scipy.constants.ounce),
    ],
)
def test_factors_are_those_of_nist_sp_811(unit, into, factor):
    assert float(convert(ONE, unit, into)) == pytest.approx(factor, rel=1e-15)


@pytest.mark.parametrize(
    ("unit", "into", "exact"),
    [("in", "mm", "25.4"), ("ft", "m", "0.3048"), ("yd", "m", "0.9144"), ("lb", "kg", "0.45359237"),
     ("ft**2", "m**2", "0.09290304"), ("in**2", "mm**2", "645.16")],
)  # fmt: skip
def test_factors_are_exact(unit, into, exact):
    # Published: the international yard and pound agreement of 1959 (25.4 mm, 0.3048 m); the pound
    # is a value from memory, and scipy's agrees.
    factor = convert(ONE, unit, into)
    assert isinstance(factor, Fraction)
    assert factor == Fraction(exact)


def test_products_of_units_convert_too():
    # Glass 1 mm thick weighs 2.5 kg/m² = 0.512 lb/ft².
    assert float(convert(Fraction("2.5"), "kg/m**2", "lb/ft**2")) == pytest.approx(0.512, abs=5e-4)


def test_ticks_are_whole_for_every_unit():
    assert all(ticks.denominator == 1 for ticks in TICKS_PER_UNIT.values())
    assert TICKS_PER_UNIT["ft"] == 12 * TICKS_PER_UNIT["in"]
    assert TICKS_PER_UNIT["m"] == 100 * TICKS_PER_UNIT["cm"] == 1000 * TICKS_PER_UNIT["mm"]


@pytest.mark.parametrize(
    ("unit", "into"),
    [
        ("united_inch", "ft"),
        ("united_inch", "in"),
        ("in", "kg"),
        ("furlong", "ft"),
        ("ft**2", "ft"),
    ],
)
def test_united_inches_never_turn_into_feet_and_nothing_into_another_kind(unit, into):
    with pytest.raises(BadValue):
        convert(Fraction(48), unit, into)


def test_pint_would_turn_united_inches_that_are_inches_into_feet():
    # The reason why they have a dimension of their own.
    registry = pint.UnitRegistry(non_int_type=Fraction)
    registry.define("united_inch = inch")
    assert registry.Quantity(Fraction(48), "united_inch").to("foot").magnitude == 4


def test_only_a_registry_of_fractions_is_exact():
    # The reason why the registry is made with non_int_type=Fraction.
    floats = pint.UnitRegistry()
    exact = pint.UnitRegistry(non_int_type=Fraction)
    tenth = exact.Quantity(Fraction(1, 10), "inch").to("mm").magnitude
    assert tenth == Fraction(254, 100)
    assert Fraction(floats.Quantity(0.1, "inch").to("mm").magnitude) != Fraction(254, 100)


def test_a_factor_is_worked_out_once():
    convert(Fraction(7, 3), "in", "mm")
    again = timeit.timeit(lambda: convert(Fraction(7, 3), "in", "mm"), number=1000)
    assert convert.cache_info().hits >= 1000
    assert again < 1
