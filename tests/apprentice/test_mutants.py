"""One small fault in a printed line: the apprentice notices each that matters."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.apprentice.cases import CASES
from tests.apprentice.jobs import shop_of
from tests.apprentice.mutants import line_swaps, mutants, step_swaps
from tests.apprentice.paper import read_terminal
from tests.apprentice.press import print_ticket
from tests.apprentice.proof import wrong_with

MUST_FOLLOW = (
    ("Size", "Take in"),
    ("Window", "Size"),
    ("Fix under mat", "Window"),
    ("Glazing", "Window"),
    ("Join", "Saw"),
    ("Dry fit", "Join"),
    ("Seal rabbet", "Join"),
    ("Mount", "Dry fit"),
    ("Package", "Mount"),
    ("Seal", "Package"),
    ("Fit", "Package"),
    ("Fit", "Seal"),
    ("Finish", "Fit"),
    ("Wrap", "Finish"),
)
"""Neighbouring steps that may not change places: the later one first."""
AFTER_EACH_OTHER = (
    ("Oil and scribe", "Break"),
    ("Score", "Snap"),
    ("Mark", "Cut"),
    ("Lay", "Cut"),
    ("Join", "Check"),
    ("Place", "Mount"),
    ("Clean", "Lay the package"),
    ("Slide", "Close"),
    ("Lay", "Fix"),
    ("Screw on", "Tie"),
)
"""Beginnings of neighbouring lines that may not change places, where they speak of one piece."""


@pytest.fixture(scope="module", params=list(CASES))
def case(request):
    unit, marks, job = CASES[request.param]
    printed = print_ticket(job, shop_of(unit))
    return printed, read_terminal(printed.terminal()), marks


def noticed(printed, paper) -> bool:
    return bool(wrong_with(paper, printed.job, printed.shop, printed.catalogue))


def test_every_missing_or_wrong_line_is_noticed(case):
    printed, paper, marks = case
    assert not noticed(printed, paper)
    tried: Counter[str] = Counter()
    missed = []
    for mutant in mutants(paper, marks):
        tried[mutant.kind] += 1
        if not noticed(printed, mutant.paper):
            missed.append(f"{mutant.kind}: {mutant.told}")
    assert missed == []
    assert sum(tried.values()) > 80


def test_steps_that_depend_on_each_other_cannot_change_places(case):
    printed, paper, _ = case
    for mutant in step_swaps(paper):
        first, _, second = mutant.told.partition(" before ")
        if (first, second) in MUST_FOLLOW:
            assert noticed(printed, mutant.paper), mutant.told


def test_lines_that_depend_on_each_other_cannot_change_places(case):
    printed, paper, _ = case
    for mutant in line_swaps(paper):
        first, _, second = mutant.told.partition(" | ")
        for before, after in AFTER_EACH_OTHER:
            if second.startswith(before) and first.startswith(after) and alike(first, second):
                assert noticed(printed, mutant.paper), mutant.told


def alike(one: str, other: str) -> bool:
    """Return True unless two lines name different pieces or windows."""
    names = [set(line.partition(":")[0].split(" (")[1:]) for line in (one, other)]
    return names[0] == names[1] or not all(names)
