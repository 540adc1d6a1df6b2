"""Lengths on the grid of 1/16 µm."""

from decimal import Decimal
from fractions import Fraction

import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadLength
from service.domain.measure.length import (
    NO_SIDES,
    TICKS_PER_64TH,
    TICKS_PER_FOOT,
    TICKS_PER_INCH,
    TICKS_PER_MM,
    ZERO,
    Length,
    Sides,
    Size,
)

TICKS = st.integers(-(10**9), 10**9)


def inch(text: str) -> Length:
    return Length.inches(Fraction(text))


def test_the_factors_are_those_of_nist():
    # scipy.constants carries the exact factors of NIST SP 811: metres an inch and a foot. Their
    # shortest decimals are exact, so that a fraction of the decimal is too.
    metre = 1000 * TICKS_PER_MM
    assert Fraction(str(scipy.constants.inch)) * metre == TICKS_PER_INCH
    assert Fraction(repr(round(scipy.constants.foot, 10))) * metre == TICKS_PER_FOOT


def test_the_grid_holds_every_64th_every_128th_and_every_thousandth_of_a_millimetre():
    assert inch("1/64").ticks == TICKS_PER_64TH == 6350
    assert inch("1/128").ticks == 3175
    assert Length.millimetres("0.001").ticks == 16


def test_inches_and_millimetres_add_exactly():
    assert inch("1/64") * 64 + Length.millimetres("0.001") * 25_400 == inch("2")
    assert Length.millimetres("415.925") == inch("131/8")


@pytest.mark.parametrize(
    ("make", "number"),
    [(Length.inches, Fraction(1, 3)), (Length.inches, "0.0000001"),
     (Length.millimetres, Decimal("0.00001")), (Length.millimetres, Fraction(1, 7))],
)  # fmt: skip
def test_what_is_finer_than_the_grid_is_refused_and_never_rounded(make, number):
    with pytest.raises(BadLength, match="finer than 1/16 µm") as refused:
        make(number)
    assert str(number) in refused.value.facts["given"]


@given(TICKS)
def test_a_length_is_the_same_in_inches_feet_and_millimetres(ticks):
    length = Length(ticks)
    assert Length.inches(length.in_inches()) == length
    assert Length.millimetres(length.in_millimetres()) == length
    assert length.in_feet() * 12 == length.in_inches()


@given(TICKS)
def test_two_halves_add_up_and_the_first_is_never_the_longer(ticks):
    first, second = Length(ticks).halves()
    assert first + second == Length(ticks)
    assert 0 <= second.ticks - first.ticks <= 1


@given(TICKS, TICKS)
def test_lengths_are_ordered_and_reckoned_as_their_ticks_are(one, other):
    a, b = Length(one), Length(other)
    assert (a < b, a == b, a >= b) == (one < other, one == other, one >= other)
    assert (a + b).ticks == one + other
    assert (a - b).ticks == one - other
    assert (3 * a).ticks == (a * 3).ticks == 3 * one
    assert (-a).ticks == -one
    assert bool(a) is (one != 0)
    assert (hash(a) == hash(b)) or one != other


def test_a_length_is_no_number():
    assert inch("2") != 2 * TICKS_PER_INCH
    assert len({inch("2"), Length.millimetres("50.8")}) == 1


def test_a_size_is_width_first_and_knows_its_way_round():
    size = Size(inch("16"), inch("20"))
    assert size.perimeter() == inch("72")
    assert size.united_ticks() == inch("36").ticks
    assert size.grown(inch("1/8")) == Size(inch("129/8"), inch("161/8"))
    assert (size.longer(), size.shorter()) == (inch("20"), inch("16"))
    wide = Size(inch("20"), inch("16"))
    assert (wide.longer(), wide.shorter()) == (inch("20"), inch("16"))


def test_a_piece_fits_a_sheet_turned_only_where_turning_is_allowed():
    sheet, tall = Size(inch("40"), inch("32")), Size(inch("32"), inch("40"))
    assert not tall.fits_in(sheet)
    assert tall.fits_in(sheet, turned=True)
    assert sheet.fits_in(sheet)
    assert not sheet.grown(Length(1)).fits_in(sheet, turned=True)


def test_sides_are_read_round_from_the_top():
    sides = Sides(inch("3"), inch("2"), inch("7/2"), inch("1"))
    assert [name for name, _ in sides.each()] == ["top", "right", "bottom", "left"]
    assert sides.across() == inch("3")
    assert sides.down() == inch("13/2")
    assert sides.narrowest() == inch("1")
    assert sides + NO_SIDES == sides
    assert Sides.all(ZERO) == NO_SIDES
