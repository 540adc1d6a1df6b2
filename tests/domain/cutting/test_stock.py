"""Kerf at a mitre against decimal arithmetic of 60 digits (plain geometry: blade / cos(180/n))."""

from decimal import Decimal, getcontext
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.cutting.stock import kerf_at_mitre
from service.domain.errors import BadValue

getcontext().prec = 60

# cos^2(180/n) in closed form: 1/4, 1/2, 3/4, (2 + root 2)/4, (2 + root 3)/4.
COSINE_SQUARED = {
    3: Decimal(1) / 4,
    4: Decimal(1) / 2,
    6: Decimal(3) / 4,
    8: (2 + Decimal(2).sqrt()) / 4,
    12: (2 + Decimal(3).sqrt()) / 4,
}


@given(st.integers(1, 10**9), st.sampled_from(sorted(COSINE_SQUARED)))
def test_kerf_is_the_exact_length_rounded_up(blade, sides):
    exact = Decimal(blade) / COSINE_SQUARED[sides].sqrt()
    if sides == 3:
        assert kerf_at_mitre(blade, 3) == 2 * blade
    else:
        assert kerf_at_mitre(blade, sides) == ceil(exact)


def test_an_eighth_inch_blade_at_45_degrees_takes_just_under_three_sixteenths():
    # 1/8 in is 50 800 units of 1/16 um; times root 2 is 71 842.04.
    assert kerf_at_mitre(50_800) == 71_843


@pytest.mark.parametrize("bad", [-1, 1.5, True])
def test_a_blade_that_is_no_length_is_refused(bad):
    with pytest.raises(BadValue):
        kerf_at_mitre(bad)


def test_a_frame_of_five_sides_is_refused_by_name():
    with pytest.raises(BadValue, match="5"):
        kerf_at_mitre(10, 5)
