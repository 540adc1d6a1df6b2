"""How many equal pieces straight cuts give from a sheet, against every possible cut."""

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.jobs.yields import MOST, pieces_from
from service.domain.measure.length import ZERO, Length, Size
from tests.domain.bench_shop import inch, size


@cache
def every_cut(across: int, down: int, wide: int, high: int) -> int:
    """The most pieces by trying every edge-to-edge cut, in whole units."""
    fits = (across >= wide and down >= high) or (across >= high and down >= wide)
    best = int(fits)
    for at in range(1, across // 2 + 1):
        best = max(best, every_cut(at, down, wide, high) + every_cut(across - at, down, wide, high))
    for at in range(1, down // 2 + 1):
        best = max(
            best, every_cut(across, at, wide, high) + every_cut(across, down - at, wide, high)
        )
    return best


SIDES = st.integers(4, 14)


@settings(max_examples=80)
@given(SIDES, SIDES, st.integers(3, 8), st.integers(3, 8))
def test_no_cut_gives_more(across, down, wide, high):
    sheet, piece = Size(Length(across), Length(down)), Size(Length(wide), Length(high))
    expected = every_cut(across, down, wide, high)
    assert expected < MOST
    assert pieces_from(sheet, piece, turned=True) == expected


@pytest.mark.parametrize(
    ("sheet", "piece", "turned", "pieces"),
    [
        ("32 x 40", "21 x 21", True, 1),
        ("32 x 40", "32 x 20", True, 2),
        ("32 x 40", "20 x 16", True, 4),
        ("32 x 40", "16 x 20", False, 4),
        ("32 x 40", "20 x 16", False, 2),
        # Two rows of 16 x 12 across 32 and a row of 12 x 16 below: 2·2 + 2; either way alone 6 too.
        ("32 x 40", "16 x 12", True, 6),
        # 18 x 14: one column of two 18 wide, one of two 14 wide beside it.
        ("32 x 40", "18 x 14", True, 4),
        # Four of 3 x 2 lie in 5 x 5 only round a hole, which straight cuts cannot make: 3.
        ("5 x 5", "3 x 2", True, 3),
        ("32 x 40", "41 x 2", True, 0),
        ("1 x 2", "1 x 1 1/16", True, 1),
    ],
)
def test_pieces_counted_by_hand(sheet, piece, turned, pieces):
    assert pieces_from(size(sheet), size(piece), turned=turned) == pieces


def test_a_kerf_is_lost_at_every_cut_and_not_at_the_edge():
    # Two of 24 x 48 fill a 48 x 48 by a scored cut; a kerf of 1/8 leaves the second too narrow, and
    # two of 23 15/16 with their one cut of 1/8 fill it again.
    square = size("48 x 48")
    assert pieces_from(square, size("24 x 48"), ZERO, turned=False) == 2
    assert pieces_from(square, size("24 x 48"), inch("1/8"), turned=False) == 1
    assert pieces_from(square, size("23 15/16 x 48"), inch("1/8"), turned=False) == 2


def test_many_small_pieces_are_counted_in_rows_and_columns():
    assert pieces_from(size("32 x 40"), size("2 x 3"), turned=True) == 16 * 13
