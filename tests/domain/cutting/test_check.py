"""The checker, given sound plans broken in one way each: every kind of fault is caught."""

from dataclasses import replace

import pytest

from service.domain.cutting.check import check_sheets, check_sticks
from service.domain.cutting.plan import (
    Axis,
    Buy,
    Cut,
    Fate,
    Part,
    Placement,
    Reason,
    Rect,
    SheetPlan,
    SheetUse,
    StickPlacement,
    StickPlan,
    StickUse,
    Summary,
    Unplaced,
)
from service.domain.cutting.stock import (
    SheetPiece,
    SheetRules,
    SheetStock,
    StickPiece,
    StickRules,
    StickStock,
)
from service.domain.errors import PlanRejected

# A sheet of 20 x 10, kerf 1, written out by hand: `a` is 8 x 10 off the left; of the 11 x 10 past
# the kerf `b` is 11 x 4 (turned), and past one more kerf 11 x 5 is kept.
STOCK = [SheetStock("sheet", 20, 10, 900, quantity=1)]
PIECES = [SheetPiece("a", 8, 10), SheetPiece("b", 4, 11)]
RULES = SheetRules(kerf=1, keep_short=5, keep_long=5)
A = Part(Rect(0, 0, 8, 10), Fate.PIECE, Placement("a", 1, 0, 0, 8, 10, False))
B = Part(Rect(9, 0, 11, 4), Fate.PIECE, Placement("b", 1, 9, 0, 11, 4, True))
KEEP = Part(Rect(9, 5, 11, 5), Fate.KEEP)
RIGHT = Cut(Rect(9, 0, 11, 10), Axis.Y, 4, B, KEEP)
ROOT = Cut(Rect(0, 0, 20, 10), Axis.X, 8, A, RIGHT)
USE = SheetUse("sheet", 1, 20, 10, False, 900, ROOT)
SUMMARY = Summary(900, 900, 0, (Buy("sheet", 1, 900, False),), (), 2)
PLAN = SheetPlan((USE,), (), SUMMARY)


def _sheet(root):
    return replace(PLAN, uses=(replace(USE, root=root),))


def _root(**changes):
    return _sheet(replace(ROOT, **changes))


def _right(**changes):
    return _root(second=replace(RIGHT, **changes))


def _b(rect=None, **changes):
    part = replace(B, rect=rect or B.rect, placement=replace(B.placement, **changes))
    return _right(first=part)


def test_the_sound_sheet_plan_is_accepted():
    check_sheets(STOCK, PIECES, RULES, PLAN)


BROKEN_SHEETS = {
    "kerf forgotten": (_root(second=replace(RIGHT, rect=Rect(8, 0, 12, 10))), "is named where"),
    "a second part where the kerf takes all": (
        _sheet(Cut(Rect(0, 0, 20, 10), Axis.X, 19, A, RIGHT)),
        "kerf is not counted",
    ),
    "no second part where some is left": (_root(second=None), "kerf is not counted"),
    "a cut outside its part": (_root(at=20), "misses"),
    "a cut at nothing": (_root(at=0), "misses"),
    "a cut that stops short of the edge": (
        _right(rect=Rect(9, 0, 11, 9)),
        "is named where",
    ),
    "a piece that leaves its part": (_right(first=replace(B, rect=Rect(9, 0, 12, 4))), "is named"),
    "a piece placed elsewhere than cut": (_b(x=8), "not where it is cut"),
    "a piece of the wrong size": (_b(rotated=False), "wrong size"),
    "a piece nobody asked for": (_b(piece="c"), "nobody asked"),
    "a copy nobody asked for": (_b(copy=2), "nobody asked for copy 2"),
    "a piece made twice": (
        _right(first=Part(B.rect, Fate.PIECE, replace(A.placement, x=9, y=0, w=11, h=4))),
        "wrong size",
    ),
    "a piece not made": (_right(first=Part(B.rect, Fate.WASTE)), "'b': 1 wanted, 0 accounted"),
    "a piece made and called unplaced": (
        replace(PLAN, unplaced=(Unplaced("a", 1, Reason.OVERSIZE, ""),)),
        "'a': 1 wanted, 2 accounted",
    ),
    "an unknown piece called unplaced": (
        replace(PLAN, unplaced=(Unplaced("z", 1, Reason.OVERSIZE, ""),)),
        "nobody asked for 'z'",
    ),
    "nothing called unplaced": (
        replace(PLAN, unplaced=(Unplaced("a", 0, Reason.OVERSIZE, ""),)),
        "named for nothing",
    ),
    "a useful offcut thrown away": (_right(second=replace(KEEP, fate=Fate.WASTE)), "thrown away"),
    "a sheet that is not in stock": (
        replace(PLAN, uses=(replace(USE, stock="other"),)),
        "no sheet 'other'",
    ),
    "a sheet of another size": (replace(PLAN, uses=(replace(USE, width=21),)), "sheet size"),
    "a sheet of another cost": (replace(PLAN, uses=(replace(USE, cost=1),)), "sheet cost"),
    "more sheets than there are": (
        replace(PLAN, uses=(USE, replace(USE, number=2, root=Part(Rect(0, 0, 20, 10), Fate.KEEP)))),
        "more of 'sheet'",
    ),
    "a sheet misnumbered": (replace(PLAN, uses=(replace(USE, number=2),)), "misnumbered"),
    "a cost that is not the sheets'": (
        replace(PLAN, summary=replace(SUMMARY, cost=899)),
        "the cost is 900",
    ),
    "a bound above the cost": (
        replace(PLAN, summary=replace(SUMMARY, bound=901)),
        "bound of 901",
    ),
    "a part that is a piece without one": (_right(second=Part(KEEP.rect, Fate.PIECE)), "without"),
}


@pytest.mark.parametrize("fault", sorted(BROKEN_SHEETS))
def test_a_broken_sheet_plan_is_rejected(fault):
    plan, says = BROKEN_SHEETS[fault]
    with pytest.raises(PlanRejected, match=says):
        check_sheets(STOCK, PIECES, RULES, plan)


def test_a_turned_piece_whose_grain_forbids_it_is_rejected():
    grained = [PIECES[0], replace(PIECES[1], may_turn=False)]
    with pytest.raises(PlanRejected, match="may not be turned"):
        check_sheets(STOCK, grained, RULES, PLAN)


def test_a_piece_made_twice_is_rejected():
    twice = [SheetPiece("a", 10, 10, 2)]
    left = Part(Rect(0, 0, 10, 10), Fate.PIECE, Placement("a", 1, 0, 0, 10, 10, False))
    right = Part(Rect(10, 0, 10, 10), Fate.PIECE, Placement("a", 1, 10, 0, 10, 10, False))
    plan = _sheet(Cut(Rect(0, 0, 20, 10), Axis.X, 10, left, right))
    with pytest.raises(PlanRejected, match="made 2 times"):
        check_sheets(STOCK, twice, SheetRules(), plan)


# A stick of 30, kerf 1, 2 trimmed at the head and 1 at the tail: rails of 10 and 12, then 3 left.
STICKS = [StickStock("stick", 30, 7, quantity=1)]
RAILS = [StickPiece("r", 10), StickPiece("s", 12)]
CUTTING = StickRules(kerf=1, head_trim=2, tail_trim=1, keep_length=3)
R, S = StickPlacement("r", 1, 2, 10), StickPlacement("s", 1, 13, 12)
STICK = StickUse("stick", 1, 30, False, 7, (R, S), 3, True)
STICK_PLAN = StickPlan((STICK,), (), (), Summary(7, 7, 0, (), (), 2))


def _stick(**changes):
    return replace(STICK_PLAN, uses=(replace(STICK, **changes),))


def test_the_sound_stick_plan_is_accepted():
    check_sticks(STICKS, RAILS, CUTTING, STICK_PLAN)


BROKEN_STICKS = {
    "head trim forgotten": (_stick(placements=(replace(R, start=1), S)), "overlaps"),
    "kerf forgotten": (_stick(placements=(R, replace(S, start=12))), "kerf is not counted"),
    "a rail into the tail trim": (_stick(placements=(R, replace(S, start=18))), "runs off"),
    "a rail of another length": (_stick(placements=(R, replace(S, length=11))), "wrong length"),
    "a rail nobody asked for": (_stick(placements=(R, replace(S, piece="t"))), "nobody asked"),
    "a rail not made": (_stick(placements=(R,), leftover=16), "'s': 1 wanted, 0"),
    "a wrong leftover": (_stick(leftover=4), "leftover is 3"),
    "a useful leftover thrown away": (_stick(keep=False), "thrown away"),
    "another stick": (_stick(stock="other"), "no stick 'other'"),
    "a stick of another length": (_stick(length=31), "wrong length or cost"),
    "more sticks than there are": (
        replace(STICK_PLAN, uses=(STICK, replace(STICK, number=2, placements=(), leftover=27))),
        "more of 'stick'",
    ),
    "a group called split that fits": (replace(STICK_PLAN, split_groups=("g",)), "a stick takes"),
}


@pytest.mark.parametrize("fault", sorted(BROKEN_STICKS))
def test_a_broken_stick_plan_is_rejected(fault):
    plan, says = BROKEN_STICKS[fault]
    grouped = [replace(rail, group="g") for rail in RAILS]
    with pytest.raises(PlanRejected, match=says):
        check_sticks(STICKS, grouped, CUTTING, plan)


def test_a_group_on_two_sticks_is_rejected():
    rails = [StickPiece("r", 10, 2, group="frame")]
    stock = [StickStock("stick", 30, 7)]
    uses = tuple(
        StickUse("stick", n, 30, False, 7, (StickPlacement("r", n, 0, 10),), 20, True)
        for n in (1, 2)
    )
    plan = StickPlan(uses, (), (), Summary(14, 14, 0, (), (), 2))
    with pytest.raises(PlanRejected, match="several sticks"):
        check_sticks(stock, rails, StickRules(), plan)
