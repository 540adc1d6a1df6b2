"""Sheet plans: worked examples of the trade, the shop instances, and properties.

Every plan is checked by `check` before it is answered, so each test here also drives the checker.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.plan import Axis, Reason, cuts_of
from service.domain.cutting.sheets.plan import plan_sheets
from service.domain.cutting.steps import sheet_steps
from service.domain.cutting.stock import SheetPiece, SheetRules, SheetStock
from tests.bench.cutting_instances import kept, sheet_job

BOARD = [SheetStock("32x40", 32, 40, 900)]

# Costs that a plan of each shop instance must reach (seeded, made for these tests): the best known.
REACH = {
    "shop_mat10a": 2700,
    "shop_mat40a": 13 * 900,
    "shop_mat40b": 17_700,
    "shop_mat40d_rem": 10_122,
    "shop_glass40": 18_050,
    "shop_back40_foam": 9_250,
    "shop_mat150a": 55 * 900,
    "shop_back150_saw": 16 * 2200,
    "shop_glass150": 99_350,
    "shop_mat150b_rem": 51_585,
}


@pytest.mark.parametrize("name", sorted(REACH))
def test_shop_instances_reach_their_gate(name):
    job = kept(name)
    plan = plan_sheets(job.stock, job.pieces, job.rules)
    assert plan.summary.bound <= plan.summary.cost <= REACH[name]


def test_sixteen_8_by_10_come_from_one_board_and_nothing_is_lost():
    # Worked example C1 (hobby how-to, 1998): 32x40 into 8x10 gives 16 one way.
    plan = plan_sheets(BOARD, [SheetPiece("mat", 8, 10, 16)])
    assert len(plan.uses) == 1
    assert plan.summary.utilisation == 1
    assert plan.summary.offcuts == ()


def test_fifteen_8_by_10_come_from_one_board_the_other_way():
    # C1 again: 15 the other way, with 6.25 % lost; the grain holds them that way.
    plan = plan_sheets(BOARD, [SheetPiece("mat", 10, 8, 15, may_turn=False)])
    assert len(plan.uses) == 1
    assert 1 - plan.summary.utilisation == 0.0625
    more = plan_sheets(BOARD, [SheetPiece("mat", 10, 8, 16, may_turn=False)])
    assert len(more.uses) == 2


def test_six_11_by_14_and_six_5_by_7_come_from_one_board():
    # Worked example C2 (the same source).
    plan = plan_sheets(BOARD, [SheetPiece("mat", 11, 14, 6), SheetPiece("small", 5, 7, 6)])
    assert len(plan.uses) == 1


def test_one_16_by_20_leaves_24_by_32_and_12_by_16():
    # Worked example C3 (trade forum): four from a board; one leaves 24x32 and 12x16.
    assert len(plan_sheets(BOARD, [SheetPiece("mat", 16, 20, 4)]).uses) == 1
    plan = plan_sheets(BOARD, [SheetPiece("mat", 16, 20)])
    left = [tuple(sorted((o.width, o.height))) for o in plan.summary.offcuts]
    assert left == [(24, 32), (12, 16)]
    assert plan.summary.cuts == 2


def _most_by_edge_to_edge_cuts(width, height, piece, known):
    """The most pieces of one size by straight cuts, trying every cut on every unit."""
    if (width, height) not in known:
        a, b = piece
        best = int((a <= width and b <= height) or (b <= width and a <= height))
        for x in range(1, width // 2 + 1):
            parts = ((x, height), (width - x, height))
            best = max(best, sum(_most_by_edge_to_edge_cuts(*p, piece, known) for p in parts))
        for y in range(1, height // 2 + 1):
            parts = ((width, y), (width, height - y))
            best = max(best, sum(_most_by_edge_to_edge_cuts(*p, piece, known) for p in parts))
        known[width, height] = best
    return known[width, height]


def test_a_37_by_39_remnant_gives_three_16_by_20_by_edge_to_edge_cuts():
    # Worked example C4 (2017 blog) says four, two each way: they lie like a pinwheel round a hole,
    # which no cut from edge to edge can part. Straight cuts give three; all one way gives two.
    remnant = [SheetStock("remnant", 37, 39, 0, 1, offcut=True)]
    turning = plan_sheets(remnant, [SheetPiece("mat", 16, 20, 4)])
    assert len(turning.uses[0].placements) == 3
    assert _most_by_edge_to_edge_cuts(37, 39, (16, 20), {}) == 3
    grained = plan_sheets(remnant, [SheetPiece("mat", 16, 20, 4, may_turn=False)])
    assert [(u.quantity, u.reason) for u in grained.unplaced] == [(2, Reason.STOCK_EXHAUSTED)]


def test_kerf_is_taken_between_two_pieces_and_not_past_the_last():
    stock = [SheetStock("sheet", 21, 10, 1)]
    two = [SheetPiece("piece", 10, 10, 2, may_turn=False)]
    assert len(plan_sheets(stock, two, SheetRules(kerf=1)).uses) == 1
    assert len(plan_sheets(stock, two, SheetRules(kerf=2)).uses) == 2


def test_offcuts_of_the_rack_go_first_where_they_are_cheaper():
    stock = [*BOARD, SheetStock("rack", 17, 21, 50, 1, offcut=True)]
    plan = plan_sheets(stock, [SheetPiece("mat", 16, 20)])
    assert [(b.stock, b.quantity, b.offcut) for b in plan.summary.buy] == [("rack", 1, True)]


def test_an_offcut_is_kept_only_from_the_size_the_shop_sets():
    pieces = [SheetPiece("mat", 32, 32)]
    assert [o.height for o in plan_sheets(BOARD, pieces).summary.offcuts] == [8]
    assert plan_sheets(BOARD, pieces, SheetRules(keep_short=9)).summary.offcuts == ()


def test_nothing_wanted_is_an_empty_plan():
    plan = plan_sheets(BOARD, [])
    assert (plan.uses, plan.unplaced, plan.summary.cost) == ((), (), 0)


def test_an_oversize_piece_is_named_and_the_rest_is_planned():
    plan = plan_sheets(BOARD, [SheetPiece("huge", 41, 10), SheetPiece("mat", 16, 20, 4)])
    assert [(u.piece, u.reason) for u in plan.unplaced] == [("huge", Reason.OVERSIZE)]
    assert len(plan.uses) == 1


def test_a_piece_too_long_only_the_way_its_grain_runs_is_oversize():
    grained = [SheetPiece("mat", 40, 20, may_turn=False)]
    assert plan_sheets(BOARD, grained).unplaced[0].reason is Reason.OVERSIZE
    assert plan_sheets(BOARD, [SheetPiece("mat", 40, 20)]).unplaced == ()


def test_pieces_no_sheet_is_left_for_are_named():
    stock = [SheetStock("last", 32, 40, 900, quantity=1)]
    plan = plan_sheets(stock, [SheetPiece("mat", 16, 20, 6)])
    assert [(u.quantity, u.reason) for u in plan.unplaced] == [(2, Reason.STOCK_EXHAUSTED)]
    assert plan.summary.bound <= plan.summary.cost == 900


def test_stock_that_runs_out_in_the_middle_of_a_search_is_no_fault():
    # Odd sizes, so that the search has to round; then no sheet is left while pieces still are.
    stock = [SheetStock(f"rack-{n}", 30 + n, 40 - n, 10 + n, 1, offcut=True) for n in range(4)]
    pieces = [SheetPiece(f"p{n}", 7 + n, 9 + 2 * n, 6) for n in range(8)]
    plan = plan_sheets(stock, pieces)
    assert len(plan.uses) == 4
    assert {u.reason for u in plan.unplaced} == {Reason.STOCK_EXHAUSTED}


def test_a_job_too_large_to_prove_is_within_two_percent_of_its_bound():
    job = sheet_job(31, 100, "glass", 3, 1)
    plan = plan_sheets(job.stock, job.pieces, job.rules)
    assert plan.unplaced == ()
    assert 0 < plan.summary.gap < 0.02


def test_five_thousand_equal_mats_are_planned_quickly():
    plan = plan_sheets(BOARD, [SheetPiece("mat", 8, 10, 5000)])
    assert plan.summary.cost == plan.summary.bound == 313 * 900


# The ten pieces of gcut1 (J. E. Beasley, "Algorithms for unconstrained two-dimensional guillotine
# cutting", Journal of the Operational Research Society 36 (1985), from OR-Library). Cut from 250 by
# 250 without turning they take five sheets, though their area is that of 2.7.
GCUT1 = (
    (167, 184), (114, 118), (167, 152), (83, 140), (70, 86),
    (143, 166), (120, 160), (66, 148), (87, 141), (69, 165),
)  # fmt: skip


def test_a_handful_of_pieces_is_proved_by_looking_at_every_set_of_them():
    pieces = [SheetPiece(str(n), w, h, may_turn=False) for n, (w, h) in enumerate(GCUT1)]
    plan = plan_sheets([SheetStock("sheet", 250, 250, 1)], pieces)
    assert (plan.summary.cost, plan.summary.bound) == (5, 5)


def test_thousands_of_sizes_are_planned_in_batches():
    sizes = [(128 + 7 * n % 290, 130 + 11 * n % 430) for n in range(300)]
    stock = [SheetStock("32x40", 512, 640, 900), SheetStock("left", 300, 400, 20, 2, offcut=True)]
    pieces = [SheetPiece(str(n), w, h) for n, (w, h) in enumerate(sizes)]
    plan = plan_sheets(stock, pieces)
    assert sum(len(use.placements) for use in plan.uses) == 300
    assert plan == plan_sheets(stock, pieces)


def inches(*sides):
    return [side * 16 for side in sides]


def longest_cut(use):
    return max(cut.rect.h if cut.axis is Axis.X else cut.rect.w for cut in cuts_of(use.root))


def test_first_cuts_too_are_no_longer_than_the_bench_reaches():
    # A board cutter of 60 in and a sheet of 60 x 104: the first cut goes across, not along it.
    stock = [SheetStock("60x104", *inches(60, 104), 7605)]
    pieces = [SheetPiece("a", 59 * 16 + 14, 50 * 16, 2), SheetPiece("b", *inches(20, 26), 3)]
    plan = plan_sheets(stock, pieces, SheetRules(reach=60 * 16))
    assert not plan.unplaced
    assert all(longest_cut(use) <= 60 * 16 for use in plan.uses)
    assert not any(use.beyond for use in plan.uses)


def test_what_the_bench_cannot_cut_at_all_is_for_the_supplier():
    # 50 x 80 with grain: after the cut across at 80 the cut along it would be 80 in long.
    stock = [SheetStock("60x104", *inches(60, 104), 7605, 3)]
    pieces = [
        SheetPiece("long", *inches(50, 80), 1, may_turn=False),
        SheetPiece("small", *inches(20, 26), 3),
        SheetPiece("whole width", *inches(60, 80), 1, may_turn=False),
    ]
    plan = plan_sheets(stock, pieces, SheetRules(reach=60 * 16))
    at_the_supplier = {p.piece for use in plan.uses if use.beyond for p in use.placements}
    at_the_bench = {p.piece for use in plan.uses if not use.beyond for p in use.placements}
    assert at_the_supplier == {"long"}
    assert at_the_bench == {"small", "whole width"}
    assert not plan.unplaced


@given(
    st.lists(
        st.tuples(st.integers(4, 60), st.integers(4, 90), st.booleans()), min_size=1, max_size=8
    ),
    st.integers(0, 2),
    st.integers(0, 3),
)
@settings(max_examples=20, deadline=None)
def test_reach_trim_and_kerf_hold_in_every_plan(wanted, kerf, trim):
    # The check cuts every sheet again, so that a plan that comes back keeps to all of them.
    stock = [SheetStock("large", 60, 104, 70, trim=trim), SheetStock("small", 32, 40, 12)]
    pieces = [SheetPiece(str(n), w, h, 2, turn) for n, (w, h, turn) in enumerate(wanted)]
    plan = plan_sheets(stock, pieces, SheetRules(kerf=kerf, reach=60))
    made = sum(len(use.placements) for use in plan.uses)
    assert made + sum(each.quantity for each in plan.unplaced) == 2 * len(pieces)


def test_six_sawn_boards_do_not_fill_a_sheet_that_six_scored_ones_do():
    # 24 x 32 six times is 48 x 96 exactly; a saw of 1/8 in has no room for its kerf.
    stock, board = [SheetStock("48x96", *inches(48, 96), 1)], [SheetPiece("p", *inches(24, 32), 6)]
    assert len(plan_sheets(stock, board, SheetRules()).uses) == 1
    assert len(plan_sheets(stock, board, SheetRules(kerf=2)).uses) > 1


def test_edges_are_trimmed_before_the_first_piece():
    stock = [SheetStock("sheet", 100, 100, 1, trim=5)]
    plan = plan_sheets(stock, [SheetPiece("p", 45, 90, 2)], SheetRules())
    assert len(plan.uses) == 1
    assert {(p.x, p.y) for p in plan.uses[0].placements} <= {(5, 5), (50, 5), (5, 50)}
    assert plan_sheets(stock, [SheetPiece("p", 46, 90, 2)], SheetRules()).summary.cost == 2
    assert [step.take for step in sheet_steps(plan.uses[0])][:4] == ["sheet"] * 4


@pytest.mark.parametrize(("side", "sheets"), [(16, 1), (16_000, 1), (203_200, 1)])
def test_thousands_of_tiny_pieces_are_planned(side, sheets):
    # 5,000 of 1/1000 mm, 1 mm and 1/2 in on 32 x 40 in, in 1/16 um.
    stock = [SheetStock("32x40", 13_004_800, 16_256_000, 900)]
    plan = plan_sheets(stock, [SheetPiece("grain", side, side, 5000)])
    assert len(plan.uses) == sheets
    assert plan.summary.cost == plan.summary.bound


def test_a_grid_of_tiles_is_cut_apart_with_its_kerf():
    # 100 by 100 squares of 3 with kerf 1 fill 399 exactly: 100 * 3 + 99 * 1.
    stock = [SheetStock("sheet", 399, 399, 1)]
    plan = plan_sheets(stock, [SheetPiece("grain", 3, 3, 10_000)], SheetRules(kerf=1))
    assert len(plan.uses) == 1


def test_fine_units_change_nothing():
    # 1/16 in is 25 400 units of 1/16 um.
    job, fine = sheet_job(6, 20, "mat32"), kept("shop_mat40b", 25_400)
    again = plan_sheets(fine.stock, fine.pieces, fine.rules)
    assert again.summary.cost == 17_700
    wide = [SheetStock(s.key, s.width * 7, s.height * 7, s.cost) for s in job.stock]
    pieces = [SheetPiece(p.key, p.width * 7, p.height * 7, p.quantity) for p in job.pieces]
    assert (
        plan_sheets(wide, pieces).summary.cost
        == plan_sheets(job.stock, job.pieces, job.rules).summary.cost
    )


def test_lengths_that_share_no_unit_are_planned_and_proven_on_a_grid():
    # Millimetres and inches mixed, in 1/16 um: no common unit worth the name.
    stock = [SheetStock("board", 13_004_800, 16_256_000, 900)]
    pieces = [
        SheetPiece(f"p{n}", 1_600_003 + 90_001 * n, 2_400_007 + 70_003 * n, 1) for n in range(40)
    ]
    plan = plan_sheets(stock, pieces, SheetRules(kerf=50_801))
    assert plan.summary.bound <= plan.summary.cost <= plan.summary.bound + 2 * 900


def test_the_same_job_gives_the_same_plan():
    job = sheet_job(104, 40, "glass", 4, 1)
    first = plan_sheets(job.stock, job.pieces, job.rules)
    assert first == plan_sheets(job.stock, job.pieces, job.rules)


stocks = st.lists(
    st.tuples(
        st.integers(4, 16), st.integers(4, 16), st.integers(0, 9), st.none() | st.integers(0, 2)
    ),
    min_size=1,
    max_size=3,
)
wanted = st.lists(
    st.tuples(st.integers(1, 12), st.integers(1, 12), st.integers(0, 3), st.booleans()),
    max_size=5,
)


@settings(max_examples=60, deadline=None)
@given(stocks, wanted, st.integers(0, 2), st.integers(1, 4))
def test_every_plan_passes_the_check(stocks, wanted, kerf, keep):
    stock = [SheetStock(f"s{i}", *s) for i, s in enumerate(stocks)]
    pieces = [SheetPiece(f"p{i}", *p) for i, p in enumerate(wanted)]
    plan = plan_sheets(stock, pieces, SheetRules(kerf=kerf, keep_short=keep, keep_long=keep))
    made = sum(len(use.placements) for use in plan.uses)
    assert made + sum(u.quantity for u in plan.unplaced) == sum(p.quantity for p in pieces)
