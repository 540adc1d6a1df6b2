"""Lots of pieces: whatever is pressed, what is not spoiled adds up to what was ordered."""

from __future__ import annotations

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from service.domain.errors import BadValue, Conflict
from service.domain.states import WrongState
from service.domain.tickets.progress import (
    PIECE_LIFE,
    TICKET_LIFE,
    Lot,
    finished,
    lot_of,
    moved,
    spoiled,
)

WAYS = {
    ("waiting", "start", "in_work"),
    ("waiting", "finish", "done"),
    ("waiting", "spoil", "spoiled"),
    ("in_work", "finish", "done"),
    ("in_work", "spoil", "spoiled"),
    ("done", "spoil", "spoiled"),
}


def test_the_tables_have_these_ways_and_no_others() -> None:
    found = {(s, a, n) for s, moves in PIECE_LIFE.moves.items() for a, n in moves.items()}
    assert found == WAYS
    assert TICKET_LIFE.moves == {
        "waiting": {
            "start": "in_work",
            "work": "in_work",
            "take_back": "withdrawn",
            "give_up": "withdrawn",
        },
        "in_work": {"work": "in_work", "finish": "done", "give_up": "withdrawn"},
        "done": {"give_up": "withdrawn"},
        "withdrawn": {},
    }


class Bench(RuleBasedStateMachine):
    """People who press what they like."""

    lots: tuple[Lot, ...] = ()
    ordered: tuple[int, ...] = ()

    @initialize(ordered=st.lists(st.integers(1, 6), min_size=1, max_size=4))
    def begin(self, ordered: list[int]) -> None:
        self.ordered = tuple(ordered)
        self.lots = tuple(
            Lot(number=n, like=n, quantity=quantity) for n, quantity in enumerate(ordered, start=1)
        )

    @rule(at=st.integers(0, 30), action=st.sampled_from(["start", "finish"]))
    def press(self, at: int, action: str) -> None:
        number = at % len(self.lots) + 1
        was = lot_of(self.lots, number)
        ways = {(s, a): n for s, a, n in WAYS}
        try:
            self.lots = moved(self.lots, number, action)
        except WrongState:
            assert (was.status, action) not in ways
        else:
            assert lot_of(self.lots, number).status == ways[was.status, action]

    @rule(at=st.integers(0, 30), quantity=st.none() | st.integers(0, 7))
    def spoil(self, at: int, quantity: int | None) -> None:
        number = at % len(self.lots) + 1
        was, before = lot_of(self.lots, number), self.lots
        try:
            self.lots = spoiled(self.lots, number, quantity, "slipped")
        except WrongState:
            assert was.status == "spoiled"
        except BadValue:
            assert quantity is not None
            assert not 1 <= quantity <= was.quantity
        else:
            recut = self.lots[-1]
            bad = lot_of(self.lots, recut.recut_of or 0)
            assert (recut.status, recut.like) == ("waiting", was.like)
            assert (bad.status, bad.reason, bad.quantity) == ("spoiled", "slipped", recut.quantity)
            assert len(self.lots) - len(before) == (1 if recut.quantity == was.quantity else 2)

    @rule()
    def finish(self) -> None:
        waiting = [
            lot for lot in self.lots if lot.recut_of and lot.status in ("waiting", "in_work")
        ]
        try:
            done = finished(self.lots)
        except Conflict:
            assert waiting
        else:
            assert not waiting
            assert {lot.status for lot in done} <= {"done", "spoiled"}

    @invariant()
    def adds_up(self) -> None:
        assert [lot.number for lot in self.lots] == list(range(1, len(self.lots) + 1))
        for kind, quantity in enumerate(self.ordered, start=1):
            good = [lot for lot in self.lots if lot.like == kind and lot.status != "spoiled"]
            assert sum(lot.quantity for lot in good) == quantity


Bench.TestCase.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)
TestBench = Bench.TestCase
