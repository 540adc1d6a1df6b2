"""Sheet yields: what fits on a sheet, and what share of it is billed.

Our bill goes by area shares that the shop sells, not by yield; where the two differ, it says so.
"""

from fractions import Fraction
from itertools import product

import pytest

from service.domain.jobs.use import sheet_share, stock_sheet
from service.domain.measure.length import Length, Size
from service.domain.measure.parse import read_size
from service.domain.shop import Billing
from tests.domain.bench_shop import board


def size(text: str) -> Size:
    return read_size(text, "in")


def block(piece: Size, across: int, down: int) -> Size:
    """So many pieces edge to edge: scored cuts take no kerf."""
    return Size(Length(across * piece.width.ticks), Length(down * piece.height.ticks))


def most(piece: Size, sheet: Size) -> int:
    """The most pieces in plain rows, all one way round."""
    counts = product(range(1, 30), repeat=2)
    return max((a * d for a, d in counts if block(piece, a, d).fits_in(sheet)), default=0)


@pytest.mark.parametrize(
    ("sheet", "piece", "count"),
    [
        ("32 x 40", "8 x 10", 16),  # published, a hobby how-to of 1998
        ("32 x 40", "10 x 8", 15),  # the other way
        ("32 x 40", "14 x 11", 6),  # published, the same how-to: two by three, 28 x 33
        ("32 x 7", "5 x 7", 6),  # and six 5x7 from the strip of 7 in that is left
        ("32 x 40", "16 x 20", 4),  # published, a forum of framers
        ("37 x 39", "16 x 20", 2),  # derived; four only with two each way
        ("37 x 39", "20 x 16", 2),
        ("24 x 32", "16 x 20", 1),
    ],
)
def test_published_yields_are_what_fits(sheet, piece, count):
    assert most(size(piece), size(sheet)) == count


def test_sixteen_by_twenty_four_from_a_remnant_only_with_two_each_way():
    # Worked by hand: 16 + 20 = 36 on either edge, a pinwheel.
    remnant = size("37 x 39")
    assert size("36 x 36").fits_in(remnant)


def test_the_loss_of_the_other_way_is_a_sixteenth():
    # published, 6.25 % lost.
    lost = 1 - Fraction(15 * 80, 32 * 40)
    assert lost == Fraction("0.0625")


SIXTEENTHS = Billing(sheet_shares=tuple(Fraction(n, 16) for n in (1, 2, 4, 8, 16)))


@pytest.mark.parametrize(
    ("piece", "share"),
    [("8 x 10", "1/16"), ("16 x 20", "1/4"), ("16 x 20 1/16", "1/2"), ("11 x 14", "1/8"),
     ("24 x 32", "1"), ("32 x 40", "1")],
)  # fmt: skip
def test_the_share_of_a_sheet_goes_by_area(piece, share):
    # 11 x 14 is an eighth by area though only six come out: the shop that bills by yield
    # sells no eighths. 24 x 32 is 0.6 of the sheet and the next share sold is the whole.
    assert sheet_share(board("B"), size(piece), SIXTEENTHS) == Fraction(share)


def test_a_piece_an_inch_over_takes_the_larger_sheet():
    # Published: a forum on framing prices, one inch over a size means a larger sheet.
    assert stock_sheet(board("B"), size("32 x 40")) == size("32 x 40")
    assert stock_sheet(board("B"), size("33 x 41")) == size("40 x 60")
