"""The life of quotes: every way that the table has, and none that it has not; expiry; deposits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.demo import demo_shop
from service.domain.measure.money import Currency
from service.domain.quotes.life import OPEN, QUOTE_LIFE, STATUSES, deposit_due, standing
from service.domain.shop import Ordering
from service.domain.states import DONE as ACTIONS
from service.domain.states import WrongState

WAYS = {
    ("draft", "issue", "issued"),
    ("draft", "revise", "draft"),
    ("draft", "withdraw", "withdrawn"),
    ("draft", "expire", "expired"),
    ("issued", "accept", "accepted"),
    ("issued", "decline", "declined"),
    ("issued", "revise", "issued"),
    ("issued", "withdraw", "withdrawn"),
    ("issued", "expire", "expired"),
    ("accepted", "begin", "in_work"),
    ("accepted", "revise", "accepted"),
    ("accepted", "withdraw", "withdrawn"),
    ("in_work", "complete", "done"),
    ("in_work", "revise", "in_work"),
    ("declined", "revise", "issued"),
    ("expired", "revise", "issued"),
}
"""Written out a second time, from the description of the shop's counter and not from the code."""
LAST = date(2026, 12, 25)


def test_the_table_has_these_ways_and_no_others() -> None:
    states = {"draft", "issued", "accepted", "in_work", "done", "declined", "expired", "withdrawn"}
    assert set(STATUSES) == states
    found = {(s, a, n) for s, moves in QUOTE_LIFE.moves.items() for a, n in moves.items()}
    assert found == WAYS


@pytest.mark.parametrize("state", STATUSES)
@pytest.mark.parametrize("action", ["issue", "accept", "decline", "withdraw", "revise"])
def test_what_the_table_has_not_is_refused_with_what_could_be_done(state: str, action: str) -> None:
    ways = {(s, a): n for s, a, n in WAYS}
    if (state, action) in ways:
        assert QUOTE_LIFE.after(state, action) == ways[state, action]
        return
    with pytest.raises(WrongState) as refused:
        QUOTE_LIFE.after(state, action, "Q100014")
    assert refused.value.facts["state"] == state
    assert state.replace("_", " ") in refused.value.message
    possible = {a for s, a in ways if s == state and a in ACTIONS}
    assert set(refused.value.facts["possible"].split()) == possible
    for other in possible:
        assert ACTIONS[other] in refused.value.message


@pytest.mark.parametrize("status", STATUSES)
def test_only_open_quotes_expire_and_only_after_their_last_day(status: str) -> None:
    assert standing(status, LAST, LAST) == status
    late = standing(status, LAST, LAST + timedelta(days=1))
    assert late == ("expired" if status in OPEN else status)


@given(
    st.integers(0, 10**9),
    st.decimals(0, 100, places=3, allow_nan=False),
    st.sampled_from(["USD", "JPY", "BHD"]),
)
def test_a_deposit_is_rounded_half_up_as_decimal_rounds(
    minor: int, percent: Decimal, code: str
) -> None:
    """The other way to work it out: Python's decimal module."""
    ordering = Ordering(deposit_percent=Fraction(percent))
    shop = replace(demo_shop(), ordering=ordering)
    due = deposit_due(Currency(code).minor(minor), shop)
    expected = (Decimal(minor) * percent / 100).quantize(Decimal(1), ROUND_HALF_UP)
    assert (due.minor, due.currency.code) == (int(expected), code)


def test_half_a_cent_of_a_deposit_is_a_cent() -> None:
    """50 % of 330.45 is 165.225: half up 165.23, worked by hand."""
    assert deposit_due(Currency("USD").of("330.45"), demo_shop()).text() == "165.23"
