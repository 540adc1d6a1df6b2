"""Rails of a frame on as few sticks as the cost allows; common practice, no source."""

from collections import Counter
from itertools import permutations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.sticks.plan import plan_sticks
from service.domain.cutting.sticks.sharing import share_out
from service.domain.cutting.stock import StickPiece, StickRules, StickStock


def sticks_of(plan, frames):
    """On how many sticks each frame is, by the rails' keys."""
    on = Counter()
    for use in plan.uses:
        of = {frames[p.piece] + ((p.copy - 1) // 2,) for p in use.placements}
        on.update(of)
    return on


def test_four_equal_frames_come_from_a_stick_each():
    # By hand: a frame takes 2 x 20 + 2 x 30 = 100 of a stick of 100, so four sticks do, one each.
    rails = [
        StickPiece("long", 30, 8, frame="one", of_frame=2),
        StickPiece("short", 20, 8, frame="one", of_frame=2),
    ]
    plan = plan_sticks([StickStock("stick", 100, 1)], rails)
    assert len(plan.uses) == 4
    on = sticks_of(plan, {"long": ("one",), "short": ("one",)})
    assert set(on.values()) == {1}


def test_the_cost_comes_before_whole_frames():
    # By hand: of 3 x (2 x 40 + 2 x 20) rails six of 40 and six of 20 fill four sticks of 100 with
    # 40 + 40 + 20 three times and 20 + 20 + 20 once; a stick a frame does not take 120.
    rails = [
        piece
        for name in "abc"
        for piece in (
            StickPiece(f"{name} long", 40, 2, frame=name, of_frame=2),
            StickPiece(f"{name} short", 20, 2, frame=name, of_frame=2),
        )
    ]
    plan = plan_sticks([StickStock("stick", 100, 1)], rails)
    assert plan.summary.cost == plan.summary.bound == 4
    on = sticks_of(plan, {rail.key: (rail.frame,) for rail in rails})
    assert sum(on.values()) == 6  # none is on one stick, none on more than two


def test_rails_that_a_dearer_plan_would_keep_together_are_split():
    # By hand: 60 + 40 twice takes two sticks of 100; frames of 2 x 60 would never fit on one.
    rails = [
        StickPiece("a", 60, 2, frame="a", of_frame=2),
        StickPiece("b", 40, 2, frame="b", of_frame=2),
    ]
    plan = plan_sticks([StickStock("stick", 100, 1)], rails)
    assert plan.summary.cost == 2


def test_a_whole_frame_may_come_from_a_longer_stick_at_the_same_price():
    rails = [StickPiece("long", 30, 4, frame="f", of_frame=2)]
    rails.append(StickPiece("short", 20, 4, frame="f", of_frame=2))
    stock = [StickStock("short", 100, 10), StickStock("long", 200, 20)]
    plan = plan_sticks(stock, rails, StickRules(kerf=0))
    assert plan.summary.cost == 20
    assert set(sticks_of(plan, {"long": ("f",), "short": ("f",)}).values()) == {1}


@given(st.integers(0, 10_000))
@settings(max_examples=60)
def test_what_is_shared_out_is_what_was_wanted_and_no_exchange_brings_a_frame_together(seed):
    draw = Random(seed)
    frames = [[f"f{n // 2}" for n in range(2 * draw.randint(1, 4))] for _ in range(2)]
    rails = [(kind, frame) for kind, names in enumerate(frames) for frame in names]
    draw.shuffle(rails)
    size = draw.randint(2, 5)
    parts = [rails[at : at + size] for at in range(0, len(rails), size)]
    sticks = [[sum(kind == k for kind, _ in part) for k in range(2)] for part in parts]
    shares = share_out(sticks, frames)
    assert [[sum(kind == k for kind, _ in s) for k in range(2)] for s in shares] == sticks
    assert Counter(rail for share in shares for rail in share) == Counter(rails)
    assert spread(shares) <= spread(parts)


def spread(shares):
    """On how many sticks the frames are, added up."""
    return sum(len({frame for _, frame in share}) for share in shares)


@pytest.mark.parametrize("seed", range(12))
def test_small_cases_are_the_best_of_all_ways(seed):
    """Every way of sharing six rails of one length is tried."""
    draw = Random(seed)
    names = sorted(draw.choices("abc", k=6))
    first = draw.randint(1, 5)
    sticks = [[first], [6 - first]]
    best = min(spread(_split(way, first)) for way in permutations(names))
    assert spread(share_out(sticks, [names])) == best


def _split(way, first):
    rails = [(0, frame) for frame in way]
    return [rails[:first], rails[first:]]


def test_a_stick_that_gives_more_than_is_wanted_stays_partly_unused():
    assert share_out([[3], [3]], [["a", "a", "b", "b"]]) == [
        [(0, "a"), (0, "a"), (0, "b")],
        [(0, "b")],
    ]
