"""Bevels: which face of the board a window's size is on, and how long the slope is."""

import math

import pytest
from hypothesis import given

from service.domain.jobs.mat import Mat
from service.domain.measure.length import ZERO, Length
from tests.domain.bench_shop import board, inch, size
from tests.domain.random_jobs import lengths
from tests.domain.sample_jobs import SHOP

SIGHT = size("8 x 10")


def mat(bevel: str, thickness: str = "1/16") -> Mat:
    return Mat(board("B", thickness=inch(thickness)), bevel)


def test_a_standard_bevel_opens_towards_the_face_by_the_boards_thickness_a_side():
    # Derived: face and back differ by t per side, 2t per dimension, at 45°.
    assert mat("standard").face_opening(SIGHT) == size("8 1/8 x 10 1/8")
    assert mat("standard").back_opening(SIGHT) == SIGHT


def test_a_reverse_bevel_opens_towards_the_back():
    assert mat("reverse").face_opening(SIGHT) == SIGHT
    assert mat("reverse").back_opening(SIGHT) == size("8 1/8 x 10 1/8")


def test_a_straight_cut_has_no_bevel():
    straight = mat("straight")
    assert straight.face_opening(SIGHT) == straight.back_opening(SIGHT) == SIGHT
    assert straight.bevel_slope() == ZERO


@pytest.mark.parametrize(
    ("thickness", "slope"), [("1/16", "0.088"), ("1/8", "0.177"), ("1.4 mm", "1.98 mm")]
)
def test_the_published_lengths_of_a_bevel(thickness, slope):
    # Derived: t·√2 for 4-ply, 8-ply and the UK's 1.4 mm, to the digits it prints.
    unit = "millimetres" if "mm" in slope else "inches"
    found = getattr(mat("standard", thickness).bevel_slope(), f"in_{unit}")()
    printed = float(slope.split()[0])
    assert float(found) == pytest.approx(printed, abs=0.005 if unit == "millimetres" else 0.0005)


@given(lengths("1/64", "1/2"))
def test_the_slope_is_the_boards_thickness_times_root_two_to_the_nearest_tick(thickness):
    slope = Mat(board("B", thickness=thickness)).bevel_slope()
    exact = thickness.ticks * math.sqrt(2)
    assert abs(slope.ticks - exact) <= 0.5 + 1e-6


def test_a_fillet_narrows_what_shows():
    plain = mat("standard")
    assert plain.fillet_width() == ZERO
    lined = Mat(plain.board, fillet=SHOP.catalogue.items["GILT"])
    assert lined.fillet_width() == Length.inches("0.125")
