"""Glazing: which kinds move, and by how much."""

from fractions import Fraction

import pytest

from service.domain.jobs.job import EXPANSION_PER_DEGREE_F, GlazingChoice, movement
from service.domain.materials.catalogue import DENSITY
from service.domain.measure.length import ZERO, Length
from tests.domain.bench_shop import inch
from tests.domain.sample_jobs import SHOP


@pytest.mark.parametrize(("degrees", "inches"), [("1", "0.00192"), ("100", "0.192")])
def test_the_published_movement_of_an_acrylic_sheet(degrees, inches):
    # Published: 48 in moves 0.00192 in a degree, printed 0.002, and 3/16 in over 100.
    assert movement("acrylic", inch("48"), Fraction(degrees)) == Fraction(inches)


def test_a_metre_of_acrylic_moves_eight_times_as_far_as_glass():
    # Derived: 1 m over 20 K (36 °F): acrylic 1.4 mm, glass 0.18 mm.
    metre = Length.millimetres(1000)
    acrylic, glass = (
        movement(k, metre, Fraction(36)) * Fraction("25.4") for k in ("acrylic", "glass")
    )
    assert round(acrylic, 1) == Fraction("1.4")
    assert round(glass, 2) == Fraction("0.18")
    assert round(acrylic / glass) == 8


def test_polycarbonate_moves_a_little_less_than_acrylic():
    metre = Length.millimetres(1000)
    assert movement("polycarbonate", metre, Fraction(36)) < movement("acrylic", metre, Fraction(36))


def test_every_kind_of_glazing_has_a_density_and_an_expansion():
    assert set(DENSITY) == set(EXPANSION_PER_DEGREE_F) == {"glass", "acrylic", "polycarbonate"}


def test_glass_is_no_plastic_and_a_choice_needs_no_spacer():
    assert not GlazingChoice(SHOP.catalogue.items["CLEAR"]).plastic
    assert GlazingChoice(SHOP.catalogue.items["PLASTIC"]).plastic
    assert GlazingChoice(SHOP.catalogue.items["CLEAR"]).spacer == ZERO
