"""Printed tickets, followed line by line: what lies on the bench at the end is what was ordered."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from tests.apprentice.cases import CASES
from tests.apprentice.jobs import demo_tickets, shop_of, tickets
from tests.apprentice.paper import Paper, read_terminal
from tests.apprentice.paper_pdf import read_pdf
from tests.apprentice.press import Printed, print_ticket
from tests.apprentice.proof import wrong_with
from tests.proofs import examples

SLOW = [HealthCheck.filter_too_much, HealthCheck.too_slow, HealthCheck.data_too_large]


def told_wrong(printed: Printed, width: int = 80) -> list[str]:
    text = printed.terminal(width)
    return wrong_with(text, printed.job, printed.shop, printed.catalogue)


def in_any_order(paper: Paper) -> Paper:
    """The paper with its remarks sorted: the card tells first what must be known first."""
    pieces = [replace(piece, remarks=sorted(piece.remarks)) for piece in paper.pieces]
    return replace(paper, pieces=pieces, mind=sorted(paper.mind))


@settings(
    max_examples=examples(2_000),
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=SLOW,
)
@given(tickets())
def test_a_ticket_followed_as_printed_makes_what_was_ordered(printed: Printed):
    assert told_wrong(printed) == []


@settings(
    max_examples=min(examples(500), 30),
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=SLOW,
)
@given(tickets())
def test_paper_and_terminal_say_the_same(printed: Printed):
    narrow = read_terminal(printed.terminal(60))
    paper = read_pdf(printed.pdf())
    assert in_any_order(paper) == in_any_order(replace(narrow, windows=[]))


@pytest.mark.parametrize("name", CASES)
def test_a_job_of_each_kind_is_made_from_terminal_and_paper(name):
    unit, _, job = CASES[name]
    printed = print_ticket(job, shop_of(unit))
    assert told_wrong(printed) == []
    paper = read_pdf(printed.pdf("a4"))
    assert wrong_with(paper, printed.job, printed.shop, printed.catalogue) == []


@pytest.mark.parametrize(("name", "printed"), demo_tickets())
def test_a_demo_job_is_made(name, printed):
    assert told_wrong(printed) == []
