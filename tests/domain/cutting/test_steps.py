"""Cut sequences: followed step by step on paper, they give every piece and nothing else."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.plan import Axis, Cut, Fate, Part, Placement, Rect
from service.domain.cutting.sheets.plan import plan_sheets
from service.domain.cutting.steps import Outcome, across_first, in_a_row, sheet_steps, stick_steps
from service.domain.cutting.sticks.plan import plan_sticks
from service.domain.cutting.stock import (
    SheetPiece,
    SheetRules,
    SheetStock,
    StickPiece,
    StickRules,
    StickStock,
)


def _follow(use, steps):
    """Cut as the steps say; what is in hand is known by label and size only."""
    hand = {"sheet": (use.width, use.height)}
    pieces = []
    for step in steps:
        width, height = hand.pop(step.take)
        rest = (width if step.axis is Axis.X else height) - step.setting - step.kerf
        assert rest >= 0
        off = (step.setting, height) if step.axis is Axis.X else (width, step.setting)
        kept = (rest, height) if step.axis is Axis.X else (width, rest)
        assert (step.falls.width, step.falls.height) == off
        assert (step.rests is None) == (rest == 0)
        for part in (step.falls, step.rests):
            if part is None:
                continue
            if part is step.rests:
                assert (part.width, part.height) == kept
            if part.outcome is Outcome.PART:
                assert part.label not in hand
                hand[part.label] = (part.width, part.height)
            if part.outcome is Outcome.PIECE:
                pieces.append((part.label, part.width, part.height))
    assert hand in ({}, {"sheet": (use.width, use.height)})
    return pieces


wanted = st.lists(
    st.tuples(st.integers(2, 12), st.integers(2, 12), st.integers(1, 3)), min_size=1, max_size=4
)


@settings(max_examples=40, deadline=None)
@given(wanted, st.integers(0, 1))
def test_following_the_steps_gives_every_piece_of_the_sheet(wanted, kerf):
    pieces = [SheetPiece(f"p{i}", *w) for i, w in enumerate(wanted)]
    plan = plan_sheets([SheetStock("s", 15, 18, 1)], pieces, SheetRules(kerf=kerf))
    for use in plan.uses:
        steps = sheet_steps(use)
        assert [s.number for s in steps] == list(range(1, len(steps) + 1))
        made = [(f"{p.piece} #{p.copy}", p.w, p.h) for p in use.placements]
        if steps:
            assert sorted(_follow(use, steps)) == sorted(made)


def test_cuts_across_the_sheet_come_before_cuts_along_it():
    def piece(n, x, y):
        return Part(Rect(x, y, 10, 20), Fate.PIECE, Placement("p", n, x, y, 10, 20, False))

    # Four 10 x 20 on a 20 x 40 sheet, first cut along the long side: the same four parts come off
    # when it is cut across first, and the halves are easier to handle.
    left = Cut(Rect(0, 0, 10, 40), Axis.Y, 20, piece(1, 0, 0), piece(2, 0, 20))
    right = Cut(Rect(10, 0, 10, 40), Axis.Y, 20, piece(3, 10, 0), piece(4, 10, 20))
    turned = across_first(Cut(Rect(0, 0, 20, 40), Axis.X, 10, left, right))
    assert isinstance(turned, Cut)
    assert (turned.axis, turned.at) == (Axis.Y, 20)
    assert turned.first.rect == Rect(0, 0, 20, 20)
    assert turned.second.rect == Rect(0, 20, 20, 20)


def test_equal_pieces_come_off_one_by_one_at_one_setting():
    def piece(n, y):
        return Part(Rect(0, y, 10, 20), Fate.PIECE, Placement("p", n, 0, y, 10, 20, False))

    # Planned: 41 (two of 20 and a kerf of 1) come off together, and are then cut in two.
    both = Cut(Rect(0, 0, 10, 41), Axis.Y, 20, piece(1, 0), piece(2, 21))
    waste = Part(Rect(0, 42, 10, 8), Fate.WASTE)
    row = in_a_row(Cut(Rect(0, 0, 10, 50), Axis.Y, 41, both, waste))
    assert (row.at, row.first) == (20, piece(1, 0))
    assert row.second == Cut(Rect(0, 21, 10, 29), Axis.Y, 20, piece(2, 21), waste)
    # Where the last cut leaves nothing but dust, it stays the last.
    tight = in_a_row(Cut(Rect(0, 0, 10, 42), Axis.Y, 41, both, None))
    assert tight.second == Cut(Rect(0, 21, 10, 21), Axis.Y, 20, piece(2, 21), None)


def test_a_stick_is_trimmed_and_cut_rail_by_rail():
    rules = StickRules(kerf=1, head_trim=2, tail_trim=1)
    pieces = [StickPiece("top", 12), StickPiece("side", 10)]
    plan = plan_sticks([StickStock("stick", 30, 7)], pieces, rules)
    steps = stick_steps(plan.uses[0], rules)
    assert [(s.setting, s.falls.label, s.left) for s in steps] == [
        (2, "trim", 28),
        (12, "top #1", 15),
        (10, "side #1", 4),  # 3 to keep and 1 of tail trim
    ]


@pytest.mark.parametrize("length", [20, 21, 22])
def test_the_last_rail_needs_no_full_kerf(length):
    rules = StickRules(kerf=2)
    plan = plan_sticks([StickStock("stick", length, 7)], [StickPiece("rail", 20)], rules)
    (step,) = stick_steps(plan.uses[0], rules)
    assert (step.kerf, step.left) == (length - 20, 0)
