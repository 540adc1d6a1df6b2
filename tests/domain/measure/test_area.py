"""Areas and united inches."""

from fractions import Fraction

import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from service.domain.measure.area import square_feet, square_inches, square_metres, united_inches
from service.domain.measure.length import Length, Size
from service.domain.measure.parse import read_size

SIZES = st.builds(Size, *(st.integers(1, 10**8).map(Length) for _ in range(2)))


def size(text: str) -> Size:
    return read_size(text, "in")


@pytest.mark.parametrize(("text", "united"), [("24 x 36", 60), ("24 x 72", 96), ("16 x 20", 36)])
def test_united_inches_are_width_plus_height(text, united):
    # published: metaglossary.com, "United Inches"; 16 + 20 from a shop's footage chart.
    assert united_inches(size(text)) == united


def test_united_inches_say_nothing_of_area():
    # Derived: 20 x 20 and 10 x 30 are 40 united inches both.
    square, long = size("20 x 20"), size("10 x 30")
    assert united_inches(square) == united_inches(long) == 40
    assert (square_inches(square), square_inches(long)) == (400, 300)


@given(SIZES)
def test_the_perimeter_is_twice_the_united_inches(any_size):
    assert any_size.perimeter().in_inches() == 2 * united_inches(any_size)


@given(SIZES)
def test_the_three_areas_are_one(any_size):
    # 1 sq ft = 144 sq in = 0.09290304 m² (NIST SP 811, from scipy's foot).
    foot = Fraction(repr(round(scipy.constants.foot, 10)))
    assert square_feet(any_size) * 144 == square_inches(any_size)
    assert square_feet(any_size) * foot**2 == square_metres(any_size)
    assert foot**2 == Fraction("0.09290304")


def test_the_area_of_a_package():
    package = size("22 5/8 x 26 3/4")
    assert square_inches(package) == Fraction("605.21875")
    assert united_inches(package) == Fraction("49.375")
