"""Exact money, its digits against the CLDR, and splitting without losing a cent."""

from decimal import Decimal
from fractions import Fraction

import pytest
from babel.core import get_global
from babel.numbers import get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadMoney
from service.domain.money import DIGITS, LARGEST_MINOR, Currency, Money, exact_number, minor_text

USD, JPY, BHD = Currency("USD"), Currency("JPY"), Currency("BHD")
WITHOUT_SMALL_COIN = ["AFN", "ALL", "IRR", "KPW", "LAK", "LBP", "MMK", "RSD", "SOS", "SYP", "YER"]
AMOUNTS = st.integers(-(10**9), 10**9)


@pytest.mark.parametrize("code", DIGITS)
def test_the_digits_of_a_currency_are_those_of_the_cldr_but_for_coins_out_of_use(code):
    # The CLDR says 0 where the small coin is no longer used; ISO 4217, which counts on invoices,
    # still says 2 for those named above and 3 for the Iraqi dinar.
    if code in WITHOUT_SMALL_COIN:
        assert (DIGITS[code], get_currency_precision(code)) == (2, 0)
    elif code == "IQD":
        assert (DIGITS[code], get_currency_precision(code)) == (3, 0)
    else:
        assert DIGITS[code] == get_currency_precision(code)


def test_every_currency_in_use_is_known_but_three_named_ones():
    # MGA and MRU have fifths. Bulgaria has paid in euros since 2026 (from memory).
    in_use = {
        code
        for histories in get_global("territory_currencies").values()
        for code, _, ended, tender in histories
        if tender and ended is None
    }
    assert in_use - set(DIGITS) == {"MGA", "MRU", "BGN"}


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
