"""Cash rounding: the examples that authorities publish, and what every payment must hold."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.measure.money import Currency
from service.domain.prices.cash import cash_rounded

F = Fraction


@pytest.mark.parametrize(
    ("currency", "step", "due", "paid"),
    [
        # published: Canada, Budget 2012: (1.83 + 2.86) and 5 % are 4.92 by card, 4.90 in cash.
        ("CAD", "0.05", "4.92", "4.90"),
        # published: Canada, GI-131 on cash payments; the sum is derived: 179.00 and 13 %.
        ("CAD", "0.05", "202.27", "202.25"),
        # published: Eesti Pank, questions on rounding: a basket of 30.76.
        ("EUR", "0.05", "30.76", "30.75"),
        # published: Finland's rule, 14.97 is 14.95 (as news reports of 2024 give it).
        ("EUR", "0.05", "14.97", "14.95"),
        # Denmark, half kroner; the bands 00-24, 25-74, 75-99 are from memory.
        ("DKK", "0.50", "10.24", "10.00"),
        ("DKK", "0.50", "10.25", "10.50"),
        ("DKK", "0.50", "10.74", "10.50"),
        ("DKK", "0.50", "10.75", "11.00"),
        # whole kronor since 2010.
        ("SEK", "1", "99.50", "100.00"),
        ("SEK", "1", "99.49", "99.00"),
        # five forint; the step is from memory.
        ("HUF", "5", "1002.49", "1000.00"),
        ("HUF", "5", "1002.50", "1005.00"),
    ],
)
def test_published_examples(currency, step, due, paid):
    money = Currency(currency)
    assert cash_rounded(money.of(due), F(step)).text() == paid
    # published: Eesti Pank: refunds are rounded in the same way.
    assert cash_rounded(-money.of(due), F(step)) == -money.of(paid)


def test_half_a_step_goes_up_or_down_by_setting():
    # New Zealand, ten cents since 2006: where five go is the shop's choice (two ways are in use).
    nzd = Currency("NZD")
    assert cash_rounded(nzd.of("7.65"), F("0.10")).text() == "7.70"
    assert cash_rounded(nzd.of("7.65"), F("0.10"), "half_down").text() == "7.60"
    assert cash_rounded(-nzd.of("7.65"), F("0.10"), "half_down").text() == "-7.60"


def test_without_a_step_nothing_is_rounded():
    usd = Currency("USD")
    assert cash_rounded(usd.of("4.92"), F(0)).text() == "4.92"


@given(st.integers(-(10**7), 10**7), st.sampled_from(["0.05", "0.1", "0.5", "1"]))
def test_what_is_paid_is_a_multiple_and_at_most_half_a_step_away(minor, step):
    due = Currency("EUR").minor(minor)
    paid = cash_rounded(due, F(step))
    assert (paid.units() / F(step)).denominator == 1
    assert 2 * abs(paid.units() - due.units()) <= F(step)
