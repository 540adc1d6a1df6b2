"""Exact money, its digits against ISO 4217 and the CLDR, and splitting without losing a cent."""

from decimal import Decimal
from fractions import Fraction

import iso4217
import pytest
from babel.numbers import get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadMoney
from service.domain.measure.money import (
    DIGITS,
    LARGEST_MINOR,
    Currency,
    Money,
    exact_number,
    minor_text,
)

USD, JPY, BHD = Currency("USD"), Currency("JPY"), Currency("BHD")
NOT_IN_A_TILL = (
    "BOV CHE CHW CLF COU MXV USN UYW VED XAD XAG XAU XBA XBB XBC XBD XDR XPD XPT XSU XTS XUA XXX"
)
AMOUNTS = st.integers(-(10**9), 10**9)


@pytest.mark.parametrize("code", DIGITS)
def test_the_digits_of_a_currency_are_those_of_iso_4217(code):
    # published: ISO 4217 list one, as the package iso4217 carries it.
    assert iso4217.Currency(code).exponent == DIGITS[code]


@pytest.mark.parametrize("code", DIGITS)
def test_the_cldr_agrees_or_says_that_the_small_coin_is_out_of_use(code):
    # published: the CLDR, as Babel carries it. Where it differs from ISO 4217 it says 0, and which
    # currencies those are changes with its editions; invoices count what ISO 4217 says.
    assert get_currency_precision(code) in (DIGITS[code], 0)


def test_every_currency_that_iso_4217_lists_is_known_or_left_out_for_a_reason():
    # Fifths are not decimal; the rest are gold and other metals, units of account, indexed units,
    # codes for tests, and a second code of the bolivar.
    in_fifths = {"MGA", "MRU"}
    listed = {currency.code for currency in iso4217.Currency}
    assert listed - set(DIGITS) <= in_fifths | set(NOT_IN_A_TILL.split())


@pytest.mark.parametrize(
    ("code", "digits"),
    [("USD", 2), ("EUR", 2), ("GBP", 2), ("AUD", 2), ("INR", 2), ("JPY", 0), ("BHD", 3)],
)
def test_digits_that_are_published(code, digits):
    # published: OPC Foundation part 3, 8.61, and BHD.
    assert Currency(code).digits == digits
    assert Currency(code).scale == 10**digits


@pytest.mark.parametrize("code", ["KWD", "OMR", "TND", "JOD"])
def test_three_digits_by_memory(code):
    # Value from memory; the CLDR agrees.
    assert Currency(code).digits == 3


@pytest.mark.parametrize("code", ["MGA", "MRU", "XYZ", "usd", "", "USDT"])
def test_a_currency_that_prices_cannot_be_kept_in_is_refused(code):
    with pytest.raises(BadMoney):
        Currency(code)


@given(AMOUNTS, st.sampled_from([USD, JPY, BHD]))
def test_an_amount_reads_back_from_its_text(minor, currency):
    text = currency.minor(minor).text()
    assert currency.of(text) == currency.minor(minor)
    assert Decimal(text) == Decimal(minor).scaleb(-currency.digits)
    assert len(text.partition(".")[2]) == currency.digits


@pytest.mark.parametrize(
    ("text", "currency"),
    [("1_000", USD), ("\uff11\uff12", USD), ("\u0661", USD), (" 1", USD), ("1,000", USD),
     ("1.005", USD), ("1.5", JPY), ("1.0001", BHD), ("ten", USD), ("", USD), ("NaN", USD),
     ("Infinity", USD), ("1e400", USD), ("1e-400", USD), ("9" * 30, USD), ("0." + "1" * 20, BHD)],
)  # fmt: skip
def test_what_is_no_amount_is_refused(text, currency):
    with pytest.raises(BadMoney):
        currency.of(text)


def test_an_amount_beyond_reason_is_refused():
    assert USD.minor(LARGEST_MINOR - 1).minor == LARGEST_MINOR - 1
    for minor in (LARGEST_MINOR, -LARGEST_MINOR):
        with pytest.raises(BadMoney, match="slip"):
            USD.minor(minor)


@given(AMOUNTS, AMOUNTS)
def test_amounts_are_reckoned_as_their_cents_are(one, other):
    a, b = USD.minor(one), USD.minor(other)
    assert (a + b).minor == one + other
    assert (a - b).minor == one - other
    assert (-a).minor == -one
    assert (a * 3).minor == 3 * one
    assert (a < b) == (one < other)
    assert a.units() == Fraction(one, 100)


def test_two_currencies_do_not_mix():
    for mix in (Money.__add__, Money.__sub__, Money.__lt__):
        with pytest.raises(BadMoney, match="cannot be added"):
            mix(USD.minor(1), JPY.minor(1))


@pytest.mark.parametrize(
    ("units", "text"), [("0.005", "0.01"), ("-0.005", "-0.01"), ("1.00499", "1.00"), ("8", "8.00")]
)
def test_rounding_to_the_minor_unit_is_half_up(units, text):
    assert USD.half_up(Fraction(units)).text() == text


def test_a_yen_is_never_divided():
    assert JPY.half_up(Fraction(5, 2)).text() == "3"


@given(st.integers(0, 10**9), st.integers(1, 50))
def test_equal_parts_add_up_and_differ_by_a_cent_at_most(minor, parts):
    shares = [part.minor for part in USD.minor(minor).split(parts)]
    assert sum(shares) == minor
    assert max(shares) - min(shares) <= 1
    assert shares == sorted(shares, reverse=True)


@given(AMOUNTS, st.lists(st.integers(0, 10**6), min_size=1, max_size=20).filter(any))
def test_shares_add_up_and_lie_within_a_cent_of_their_due(minor, weights):
    shares = USD.minor(minor).shared(tuple(weights))
    assert sum(share.minor for share in shares) == minor
    for share, weight in zip(shares, weights, strict=True):
        assert abs(share.minor - Fraction(minor * weight, sum(weights))) < 1


@pytest.mark.parametrize("weights", [(0, 0), (), (3, -1)])
def test_money_is_not_shared_by_no_weight_or_by_less(weights):
    with pytest.raises(BadMoney):
        USD.minor(100).shared(weights)


def test_numbers_are_exact():
    assert exact_number("0.1") * 10 == 1
    assert exact_number(Decimal("1E+2")) == 100
    assert exact_number(7) == 7


@pytest.mark.parametrize(
    ("minor", "digits", "text"),
    [(18450, 2, "184.50"), (-5, 2, "-0.05"), (5, 0, "5"), (0, 3, "0.000"), (-1234, 3, "-1.234")],
)
def test_minor_units_as_text(minor, digits, text):
    assert minor_text(minor, digits) == text
