"""Stick plans: published examples, the shop instances, and properties; every plan is checked."""

import random
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.plan import Reason
from service.domain.cutting.sticks.plan import cuts_on, plan_sticks
from service.domain.cutting.stock import StickPiece, StickRules, StickStock
from service.domain.errors import BadValue
from tests.bench.cutting_instances import kept, stick_job

# Costs of shop instances: sticks times their cost, or cents (seeded, made for these tests).
BEST = {
    "shop_rail12": 3 * 1080,
    "shop_rail40a": 9 * 1080,
    "shop_rail500a": 93 * 1200,
    "shop_rail40b_rem": 6725,
    "shop_rail152b_mix": 35375,
}


@pytest.mark.parametrize("name", sorted(BEST))
def test_shop_instances_are_cut_at_their_best_known_cost(name):
    job = kept(name)
    plan = plan_sticks(job.stock, job.pieces, job.rules)
    assert plan.summary.cost == BEST[name]
    assert plan.summary.bound == BEST[name]


def test_paper_roll_example_takes_73_rolls():
    # The well-known cutting-stock example of 5600 mm paper rolls and 13 widths, best known and
    # proven optimum 73 (widths, demands and optimum from memory).
    demand = {
        1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
        2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
    }  # fmt: skip
    plan = plan_sticks(
        [StickStock("roll", 5600, 1)], [StickPiece(str(w), w, n) for w, n in demand.items()]
    )
    assert (plan.summary.cost, plan.summary.bound) == (73, 73)


def test_a_frame_of_16_by_20_fits_two_four_foot_sticks():
    # Worked example: 16x20, face 1.5: two rails of 19, two of 23 and a
    # little more; two 4-ft lengths. Rails in 1/16 in, kerf 1/8 in.
    rails = [StickPiece("short", 19 * 16 + 1, 2), StickPiece("long", 23 * 16 + 1, 2)]
    plan = plan_sticks([StickStock("4ft", 48 * 16, 500)], rails, StickRules(kerf=2))
    assert len(plan.uses) == 2


def test_kerf_between_two_rails_counts_and_none_is_needed_where_nothing_is_left():
    stock = [StickStock("stick", 21, 1)]
    plan = plan_sticks(stock, [StickPiece("rail", 10, 2)], StickRules(kerf=1))
    assert len(plan.uses) == 1
    assert cuts_on(plan.uses[0]) == 1
    assert len(plan_sticks(stock, [StickPiece("rail", 10, 2)], StickRules(kerf=2)).uses) == 2


def test_end_trims_are_lost_at_both_ends():
    rules = StickRules(kerf=1, head_trim=2, tail_trim=3)
    plan = plan_sticks([StickStock("stick", 26, 1)], [StickPiece("rail", 10, 2)], rules)
    assert [p.start for p in plan.uses[0].placements] == [2, 13]
    assert plan.uses[0].leftover == 0
    tight = plan_sticks([StickStock("stick", 25, 1)], [StickPiece("rail", 10, 2)], rules)
    assert len(tight.uses) == 2


def test_offcuts_go_first_and_are_told_from_what_is_to_be_bought():
    stock = [StickStock("new", 100, 500), StickStock("rack", 40, 0, 1, offcut=True)]
    plan = plan_sticks(stock, [StickPiece("rail", 39, 1)])
    assert plan.summary.cost == 0
    assert [(b.stock, b.quantity, b.offcut) for b in plan.summary.buy] == [("rack", 1, True)]


def test_rails_of_a_frame_whose_pattern_runs_come_from_one_stick():
    rails = [
        StickPiece(f"{frame}-{side}", length, 1, group=frame)
        for frame in ("A", "B", "C")
        for side, length in (("top", 20), ("right", 30), ("foot", 20), ("left", 30))
    ]
    plan = plan_sticks([StickStock("stick", 160, 1)], rails, StickRules(kerf=1))
    assert plan.split_groups == ()
    assert len(plan.uses) == 3  # 103 a frame; without the rule two sticks would do
    sides = [p.piece for p in plan.uses[0].placements]
    assert [s.split("-")[1] for s in sides] == ["top", "right", "foot", "left"]


def test_a_frame_no_stick_takes_is_named_and_its_rails_planned_one_by_one():
    rails = [StickPiece("long", 60, 2, group="A"), StickPiece("short", 40, 2, group="A")]
    plan = plan_sticks([StickStock("stick", 100, 1)], rails)
    assert plan.split_groups == ("A",)
    assert len(plan.uses) == 2


def test_nothing_wanted_is_an_empty_plan():
    plan = plan_sticks([StickStock("stick", 100, 1)], [])
    assert (plan.uses, plan.unplaced, plan.summary.cost) == ((), (), 0)
    assert plan.summary.gap == 0


def test_an_oversize_rail_is_named_and_the_rest_is_planned():
    rails = [StickPiece("huge", 101), StickPiece("small", 50, 2)]
    plan = plan_sticks([StickStock("stick", 100, 1)], rails)
    assert [(u.piece, u.quantity, u.reason) for u in plan.unplaced] == [
        ("huge", 1, Reason.OVERSIZE)
    ]
    assert len(plan.uses) == 1


def test_rails_that_no_stick_is_left_for_are_named():
    stock = [StickStock("last", 100, 7, quantity=2)]
    plan = plan_sticks(stock, [StickPiece("rail", 60, 3)])
    assert [(u.piece, u.quantity, u.reason) for u in plan.unplaced] == [
        ("rail", 1, Reason.STOCK_EXHAUSTED)
    ]
    assert plan.summary.bound <= plan.summary.cost == 14


def test_no_stock_at_all_leaves_everything_unplaced():
    plan = plan_sticks([], [StickPiece("rail", 60, 3)])
    assert [u.quantity for u in plan.unplaced] == [3]


def test_two_pieces_with_one_key_are_refused():
    with pytest.raises(BadValue, match="rail"):
        plan_sticks([StickStock("s", 9, 1)], [StickPiece("rail", 1), StickPiece("rail", 2)])


def test_five_thousand_equal_rails_are_planned_at_once():
    plan = plan_sticks([StickStock("stick", 5600, 1)], [StickPiece("rail", 330, 5000)])
    assert plan.summary.cost == plan.summary.bound == 313  # 16 a stick


def test_fine_units_change_nothing():
    job, fine = kept("shop_rail40b_rem"), kept("shop_rail40b_rem", 25_400)
    a = plan_sticks(job.stock, job.pieces, job.rules)
    b = plan_sticks(fine.stock, fine.pieces, fine.rules)
    assert a.summary.cost == b.summary.cost
    assert a.summary.offcuts[0].width * 25_400 == b.summary.offcuts[0].width


def test_lengths_that_share_no_unit_are_planned_on_a_grid_and_still_proven():
    # Odd lengths in 1/16 um, as millimetres and inches mix; 120 different ones add up to too many.
    rails = [StickPiece(f"r{n}", 5_000_011 + 104_729 * n, 1) for n in range(120)]
    plan = plan_sticks([StickStock("stick", 43_891_201, 9)], rails, StickRules(kerf=71_843))
    assert plan.summary.bound <= plan.summary.cost <= plan.summary.bound + 2 * 9


@pytest.mark.parametrize("kinds", [240, 400])
def test_hundreds_of_different_lengths_are_planned_and_proved(kinds):
    # Lengths to 1/16 um, each wanted once: pricing them one by one does not come to an end.
    rng = random.Random(4)
    rails = [StickPiece(f"r{n}", rng.randrange(2_540_000, 17_780_000)) for n in range(kinds)]
    stock = [StickStock("9 ft", 43_891_200, 1080), StickStock("10 ft", 48_768_000, 1200)]
    rules = StickRules(kerf=71_843, head_trim=203_200, tail_trim=203_200)
    plan = plan_sticks(stock, rails, rules)
    assert plan.summary.cost == plan.summary.bound


def test_thousands_of_grains_of_a_rail_are_planned():
    plan = plan_sticks([StickStock("stick", 43_891_200, 1)], [StickPiece("grain", 16, 5000)])
    assert plan.summary.cost == plan.summary.bound == 1


# E. Falkenauer's "uniform" class (Journal of Heuristics 2, 1996): 120 whole sizes from 20 to 100 in
# bins of 150; for all his instances the optimum is the length bound (OR-Library). "Triplets": three
# items fill a bin of 1000 exactly, so n items take n/3 bins. Made here by those definitions.
@pytest.mark.parametrize("seed", range(4))
def test_uniform_items_take_no_more_than_their_length(seed):
    rng = random.Random(seed)
    sizes = [rng.randint(20, 100) for _ in range(120)]
    plan = plan_sticks(
        [StickStock("bin", 150, 1)], [StickPiece(str(n), size) for n, size in enumerate(sizes)]
    )
    assert plan.summary.cost == plan.summary.bound == -(-sum(sizes) // 150)


@pytest.mark.parametrize("seed", range(2))
def test_triplets_take_a_third_as_many_bins_as_items(seed):
    rng = random.Random(seed)
    sizes = []
    for _ in range(20):
        long = rng.randint(380, 490)
        middle = rng.randint(250, (1000 - long) // 2)
        sizes += [long, middle, 1000 - long - middle]
    plan = plan_sticks(
        [StickStock("bin", 1000, 1)], [StickPiece(str(n), size) for n, size in enumerate(sizes)]
    )
    assert plan.summary.cost == plan.summary.bound == 20


def test_the_same_job_gives_the_same_plan():
    job = stick_job(4, 60, (1728, 1920), 4)
    first = plan_sticks(job.stock, job.pieces, job.rules)
    assert first == plan_sticks(job.stock, job.pieces, job.rules)


stocks = st.lists(
    st.tuples(st.integers(5, 30), st.integers(0, 9), st.none() | st.integers(0, 3)),
    min_size=1,
    max_size=3,
)
rails = st.lists(
    st.tuples(st.integers(1, 20), st.integers(0, 3), st.sampled_from(["", "", "A", "B"])),
    max_size=5,
)


@settings(max_examples=80, deadline=None)
@given(stocks, rails, st.integers(0, 2), st.integers(0, 2))
def test_every_plan_passes_the_check(stocks, rails, kerf, trim):
    stock = [StickStock(f"s{i}", *s) for i, s in enumerate(stocks)]
    pieces = [StickPiece(f"p{i}", *r) for i, r in enumerate(rails)]
    plan = plan_sticks(stock, pieces, StickRules(kerf=kerf, head_trim=trim, keep_length=4))
    made = sum(len(use.placements) for use in plan.uses)
    assert made + sum(u.quantity for u in plan.unplaced) == sum(p.quantity for p in pieces)


def _least_sticks(lengths, size):
    # Every way to put each rail on some stick.
    for sticks in range(1, len(lengths) + 1):
        for homes in product(range(sticks), repeat=len(lengths)):
            loads = [0] * sticks
            for home, length in zip(homes, lengths, strict=True):
                loads[home] += length
            if max(loads) <= size:
                return sticks
    return 0


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(2, 12), min_size=1, max_size=6))
def test_small_jobs_are_cut_from_as_few_sticks_as_trying_everything_finds(lengths):
    pieces = [StickPiece(f"p{i}", n) for i, n in enumerate(lengths)]
    plan = plan_sticks([StickStock("s", 12, 1)], pieces)
    assert plan.summary.cost == _least_sticks(lengths, 12)
