"""Billed quantities of one use of material, on every basis."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadValue
from service.domain.jobs.use import Use, billed_united_inches, sheet_share, stock_sheet
from service.domain.measure.length import Size
from service.domain.prices.lists import BASES, SERVICE_BASES
from service.domain.shop import Billing
from tests.domain.bench_shop import board, inch, size
from tests.domain.random_jobs import lengths
from tests.domain.sample_jobs import SHOP

BILLING = Billing()
SIZES = st.builds(Size, lengths("1", "80"), lengths("1", "80"))
PACKAGE = size("22 5/8 x 26 3/4")


def use(code: str = "WHITE", **more: object) -> Use:
    return Use(component="mat", item=SHOP.catalogue.items[code], pointer="/mats/0", **more)


@pytest.mark.parametrize(
    ("basis", "quantity"),
    [("united_inch", "50"), ("square_foot", "4.25"), ("perimeter_foot", "9"), ("linear_foot", "0"),
     ("sheet", "1/2"), ("piece", "1"), ("opening", "2"), ("minute", "0")],
)  # fmt: skip
def test_a_package_on_every_basis(basis, quantity):
    # 49 3/8 united inches, 4.2029 sq ft up by quarters, 98 3/4 in round, half a 32 x 40.
    assert use(size=PACKAGE, openings=2).quantity(basis, BILLING) == Fraction(quantity)


def test_glass_with_a_pattern_is_not_turned_on_its_sheet():
    reeded = replace(SHOP.catalogue.items["CLEAR"], grain=True, sheets=(size("32 x 40"),))
    assert stock_sheet(reeded, size("30 x 38")) == size("32 x 40")
    assert stock_sheet(reeded, size("38 x 30")) is None


def test_every_basis_of_a_price_list_has_a_meaning_for_a_use():
    found = use(size=PACKAGE, footage=inch("90"), openings=1, grooves=1, ruled_lines=1)
    for basis in BASES:
        assert (found.quantity(basis, BILLING) > 0) == (basis not in ("minute", *SERVICE_BASES[1:]))


def test_united_inches_are_the_sum_up_or_the_sides_up_first():
    by_sides = replace(BILLING, united_inches="sides")
    odd = size("20 1/4 x 10 1/4")
    assert billed_united_inches(odd, BILLING) == 31
    assert billed_united_inches(odd, by_sides) == 32
    whole = size("20 x 10")
    assert billed_united_inches(whole, BILLING) == billed_united_inches(whole, by_sides) == 30


@given(SIZES)
def test_billing_never_takes_off_and_sides_never_cost_less_than_the_sum(any_size):
    by_sides = replace(BILLING, united_inches="sides")
    exact = (any_size.width + any_size.height).in_inches()
    total = billed_united_inches(any_size, BILLING)
    assert exact <= total < exact + 1
    assert total <= billed_united_inches(any_size, by_sides) <= total + 1


def test_square_feet_go_up_by_steps_and_have_a_minimum():
    assert use(size=size("5 x 7")).quantity("square_foot", BILLING) == 1
    assert use(size=size("12 x 12")).quantity("square_foot", BILLING) == 1
    assert use(size=size("12 x 12 1/16")).quantity("square_foot", BILLING) == Fraction(5, 4)
    fine = replace(BILLING, square_foot_step=Fraction("0.01"), square_foot_minimum=Fraction(0))
    assert use(size=size("6 x 6")).quantity("square_foot", fine) == Fraction(1, 4)
    assert use(size=size("7 x 7")).quantity("square_foot", fine) == Fraction("0.35")  # 0.3403 up


def test_feet_of_moulding_go_up_to_the_next_whole_and_have_a_minimum():
    run = use("OAK", footage=inch("109 1/4"))
    assert run.quantity("linear_foot", BILLING) == 10
    assert use("OAK", footage=inch("120")).quantity("linear_foot", BILLING) == 10
    four = replace(BILLING, linear_foot_minimum=Fraction(4))
    assert use("OAK", footage=inch("30")).quantity("linear_foot", four) == 4


def test_the_least_footage_is_that_of_moulding_and_of_nothing_else():
    # A shop that sells no frame of less than 4 ft does not sell 4 ft of spacer for 3.
    four = replace(BILLING, linear_foot_minimum=Fraction(4))
    assert use("SPACER", feet=Fraction("2.5")).quantity("linear_foot", four) == 3
    assert use("GILT", footage=inch("30")).quantity("linear_foot", four) == 3


def test_supplies_are_measured_in_feet_and_square_feet():
    tape = use("PAPER", feet=Fraction("3.2"))
    cover = use("PAPER", area=Fraction("3.2"))
    assert tape.quantity("linear_foot", BILLING) == 4
    assert tape.quantity("perimeter_foot", BILLING) == 4
    assert cover.quantity("square_foot", BILLING) == Fraction("3.25")
    assert cover.quantity("perimeter_foot", BILLING) == 0
    assert use("HINGE", pieces=Fraction(2)).quantity("piece", BILLING) == 2


@pytest.mark.parametrize(
    ("more", "basis"),
    [({"size": PACKAGE}, "united_inch"), ({"footage": inch("9")}, "linear_foot"),
     ({"feet": Fraction(2)}, "linear_foot"), ({"area": Fraction(2)}, "square_foot"),
     ({}, "piece")],
)  # fmt: skip
def test_each_use_is_reported_on_its_natural_basis(more, basis):
    assert use(**more).natural_basis() == basis


def test_exact_feet_are_those_before_billing():
    assert use(footage=inch("90")).exact_feet() == Fraction("7.5")
    assert use(feet=Fraction("3.2")).exact_feet() == Fraction("3.2")
    assert use(size=PACKAGE).exact_feet() is None


def test_the_smallest_sheet_that_holds_the_piece_is_used():
    white = board("B")
    assert stock_sheet(white, size("40 x 32")) == size("32 x 40")
    assert stock_sheet(white, size("41 x 32")) == size("40 x 60")
    assert stock_sheet(white, size("41 x 41")) is None
    assert stock_sheet(SHOP.catalogue.items["OAK"], size("1 x 1")) is None


def test_grain_forbids_turning():
    grained = board("B", grain=True)
    assert stock_sheet(grained, size("40 x 32")) == size("40 x 60")
    assert stock_sheet(grained, size("60 x 40")) is None


@pytest.mark.parametrize(
    ("piece", "share"),
    [("16 x 20", "1/4"), ("16 x 20 1/16", "1/2"), ("32 x 20", "1/2"), ("32 x 20 1/16", "1"),
     ("40 x 60", "1"), ("40 1/16 x 60", "2"), ("80 x 61", "4")],
)  # fmt: skip
def test_a_quarter_half_or_whole_sheet_is_billed_and_whole_ones_beyond(piece, share):
    assert sheet_share(board("B"), size(piece), BILLING) == Fraction(share)


@pytest.mark.parametrize(
    ("piece", "share"),
    [("16 x 20", "1/4"), ("16 x 20 1/16", "3/4"), ("30 x 32", "3/4"), ("30 1/16 x 32", "1")],
)
def test_a_shop_may_sell_three_quarters_of_a_sheet(piece, share):
    # By hand: 32 x 40 is 1,280 sq in, a quarter of it 320 (16 x 20), three quarters 960 (30 x 32).
    billing = replace(BILLING, sheet_shares=(Fraction(1, 4), Fraction(3, 4), Fraction(1)))
    assert sheet_share(board("B"), size(piece), billing) == Fraction(share)


def test_beyond_every_sheet_those_are_counted_that_cover_the_piece():
    # By hand: 40 x 60 lies twice across 80 and twice down 61.
    three_sizes = board("B", sheets=(size("16 x 20"), size("32 x 40"), size("40 x 60")))
    assert sheet_share(three_sizes, size("80 x 61"), BILLING) == 4


@pytest.mark.parametrize(("grain", "piece", "many"), [
    (False, "20 x 61", 2), (False, "61 x 20", 2), (True, "61 x 20", 2), (True, "119 x 39", 3),
    (False, "119 x 39", 2),
])  # fmt: skip
def test_a_piece_that_no_sheet_holds_is_never_one_sheet(grain, piece, many):
    # By hand on 40 x 60: with a grain the sheet is not turned, and 119 takes three of its widths.
    cloth = board("B", grain=grain, sheets=(size("40 x 60"),))
    for by in ("area", "yield"):
        assert sheet_share(cloth, size(piece), replace(BILLING, sheet_share_by=by)) == many


def test_a_minimum_may_be_a_fraction():
    half_more = replace(BILLING, square_foot_minimum=Fraction(3, 2))
    assert use(size=size("12 x 12 1/16")).quantity("square_foot", half_more) == Fraction(3, 2)
    assert use(size=size("12 x 20")).quantity("square_foot", half_more) == Fraction(7, 4)


def test_a_use_has_no_windows_and_no_layer_unless_they_are_given():
    assert (use().openings, use().layer) == (0, 0)


def test_what_does_not_come_in_sheets_has_no_share():
    assert sheet_share(SHOP.catalogue.items["OAK"], size("1 x 1"), BILLING) == 0
    assert use("OAK", size=size("1 x 1")).quantity("sheet", BILLING) == 0


@given(SIZES)
def test_a_share_is_never_less_than_the_piece(any_size):
    white = board("B")
    sheet = stock_sheet(white, any_size)
    if sheet is not None:
        share = sheet_share(white, any_size, BILLING)
        part = any_size.width.ticks * any_size.height.ticks
        assert share in BILLING.sheet_shares
        assert share * sheet.width.ticks * sheet.height.ticks >= part


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"sheet_shares": ()}, "/sheet_shares"),
        ({"sheet_shares": (Fraction(1, 4), Fraction(1, 2))}, "/sheet_shares"),
        ({"sheet_shares": (Fraction(1, 2), Fraction(1, 4), Fraction(1))}, "/sheet_shares"),
        ({"sheet_shares": (Fraction(0), Fraction(1))}, "/sheet_shares"),
        ({"square_foot_step": Fraction(0)}, "/square_foot_step"),
        ({"linear_foot_step": Fraction(-1)}, "/linear_foot_step"),
        ({"perimeter_foot_step": Fraction(1, 3)}, "/perimeter_foot_step"),
        ({"minute_step": Fraction(0)}, "/minute_step"),
        ({"linear_foot_minimum": Fraction(-4)}, "/linear_foot_minimum"),
    ],
)
def test_a_way_of_billing_that_no_line_could_show_is_refused(more, pointer):
    with pytest.raises(BadValue) as refused:
        Billing(**more)
    assert refused.value.where == pointer
