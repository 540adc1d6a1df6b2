"""Frames: their sizes round what they hold, rails, mitres, and frames of many sides."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadValue
from service.domain.jobs.frame import (
    Frame,
    frame_round,
    mitre_degrees,
    polygon_side,
    tangent_of_half_turn_over,
)
from service.domain.measure.length import Length, Size
from tests.domain.bench_shop import inch, moulding, size
from tests.domain.random_jobs import lengths
from tests.domain.sample_jobs import SHOP

OAK = SHOP.catalogue.items["OAK"]


@pytest.mark.parametrize(("sides", "degrees"), [(4, 45), (5, 36), (6, 30), (8, 22.5), (12, 15)])
def test_the_published_mitres(sides, degrees):
    # published: wonderfulwoodworking.com, 180/n degrees off square.
    assert mitre_degrees(sides) == Fraction(degrees)


@pytest.mark.parametrize("sides", [2, 1, 0, -4])
def test_there_is_no_frame_of_fewer_than_three_sides(sides):
    with pytest.raises(BadValue):
        mitre_degrees(sides)
    with pytest.raises(BadValue):
        polygon_side(inch("20"), sides)


@pytest.mark.parametrize("sides", range(3, 40))
def test_the_tangent_is_the_one_of_the_library(sides):
    assert float(tangent_of_half_turn_over(sides)) == pytest.approx(
        math.tan(math.pi / sides), rel=1e-15
    )


def test_tangents_that_are_known_in_roots():
    # tan 45° = 1, tan 60° = √3, tan 22.5° = √2 - 1, to 28 digits.
    near = Fraction(1, 10**28)
    assert abs(tangent_of_half_turn_over(4) - 1) < near
    assert abs(tangent_of_half_turn_over(3) ** 2 - 3) < near
    assert abs((tangent_of_half_turn_over(8) + 1) ** 2 - 2) < near


def test_an_octagons_flats_are_2_41421_sides_apart():
    # published: a tool maker's user forum, F = side x 2.41421.
    side = polygon_side(inch("24"), 8).in_inches()
    assert float(24 / side) == pytest.approx(2.41421, abs=5e-6)


@given(lengths("1", "60"))
def test_a_square_frame_is_a_polygon_of_four_sides(flats):
    assert polygon_side(flats, 4) == flats


@given(lengths("2", "60"), lengths("2", "60"), lengths("0", "1/4"))
def test_a_frame_is_its_package_and_so_much_more(width, height, allowance):
    found = frame_round(Frame(OAK), Size(width, height), allowance)
    for side in ("width", "height"):
        holds, rabbet = getattr(found.holds, side), getattr(found.rabbet, side)
        assert rabbet == holds + allowance
        assert getattr(found.sight, side) == rabbet - 2 * OAK.rabbet_width
        assert getattr(found.outside, side) == getattr(found.sight, side) + 2 * OAK.face_width
    assert found.rail_length() == found.outside.perimeter()
    # Derived: the rule of eight widths is long by eight rabbet widths.
    assert found.footage() - found.rail_length() == 8 * OAK.rabbet_width


def test_a_rabbet_fillet_narrows_the_sight_and_nothing_else():
    lined = Frame(OAK, fillet=SHOP.catalogue.items["GILT"])
    plain, found = (frame_round(each, size("8 x 10"), inch("0")) for each in (Frame(OAK), lined))
    assert found.sight == plain.sight.grown(-inch("1/4"))
    assert (found.rabbet, found.outside) == (plain.rabbet, plain.outside)


@pytest.mark.parametrize("sides", [4, 8, 12])
def test_a_rail_of_many_sides_closes_round_the_outside(sides):
    found = frame_round(Frame(OAK, sides=sides), size("20 x 20"), inch("1/8"))
    flats = float(found.outside.width.in_inches())
    rails = found.rails()
    assert sum(many for _, many, _ in rails) == sides
    for _, _, length in rails:
        assert float(length.in_inches()) == pytest.approx(
            flats * math.tan(math.pi / sides), abs=1e-5
        )


@given(st.sampled_from([8, 12]), lengths("5", "40"))
def test_the_footage_of_many_sides_is_perimeter_and_two_face_widths_a_corner(sides, flats):
    # Derived: perimeter + 2·n·W·tan(180°/n); at n = 4 that is + 8 W.
    found = frame_round(Frame(OAK, sides=sides), Size(flats, flats), Length(0))
    tan = math.tan(math.pi / sides)
    exact = sides * tan * float((flats + 2 * OAK.face_width).in_inches())
    assert float(found.footage().in_inches()) == pytest.approx(exact, abs=1e-4)


def test_a_wider_face_makes_a_longer_rail():
    faces = [moulding(f"M{face}", face, "1/4") for face in ("1", "2", "3")]
    rails = [frame_round(Frame(m), size("8 x 10"), inch("0")).rails()[0][2] for m in faces]
    assert rails == [inch("9 1/2"), inch("11 1/2"), inch("13 1/2")]
