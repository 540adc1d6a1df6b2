"""Quote numbers: every likely slip is found, and likely ways of typing are put right."""

from __future__ import annotations

import doctest

import pytest

from service.domain.errors import BadValue, NotFound
from service.domain.quotes import numbers
from service.domain.quotes.numbers import QUOTES, quote_number, read_number

# The operation table of H. M. Damm, Total anti-symmetrische Quasigruppen (Marburg 2004), and the
# example 572 with check digit 4 that descriptions of the method use; both given from memory. Apart
# from the table, the tests below check what the method promises for every slip.
DAMM = (
    "0317598642",
    "7092154863",
    "4206871359",
    "1750983426",
    "6123045978",
    "3674209581",
    "5869720134",
    "8945362017",
    "9438617205",
    "2581436790",
)


def _damm(digits: str) -> str:
    interim = 0
    for digit in digits:
        interim = int(DAMM[interim][int(digit)])
    return str(interim)


def test_the_table_gives_the_known_example() -> None:
    assert _damm("572") == "4"


@pytest.mark.parametrize("serial", [10_001, 10_002, 57_283, 99_999, 100_000, 1_234_567])
def test_a_number_is_q_serial_check_digit(serial: int) -> None:
    assert quote_number(serial) == f"Q{serial}{_damm(str(serial))}"
    assert read_number(quote_number(serial)) == serial


@pytest.mark.parametrize(
    "typed",
    ["Q100014", "q100014", " Q 1000 14 ", "QI000I4", "qlooo14", "Q-100014", "Q1000\u00a014"],
)
def test_ways_of_typing_are_put_right(typed: str) -> None:
    assert QUOTES.means(typed)
    assert read_number(typed) == 10_001


def test_every_wrong_digit_and_every_swap_of_neighbours_is_found() -> None:
    for serial in (10_001, 57_283, 123_456):
        digits = quote_number(serial)[1:]
        slips = {
            digits[:i] + wrong + digits[i + 1 :]
            for i in range(len(digits))
            for wrong in "0123456789"
        }
        slips |= {
            digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :] for i in range(len(digits) - 1)
        }
        for slip in slips - {digits}:
            with pytest.raises(NotFound):
                read_number(f"Q{slip}")


def test_a_misread_number_says_so() -> None:
    with pytest.raises(NotFound, match="Q100015 was misread: its check digit"):
        read_number("q100015")


@pytest.mark.parametrize(
    "other",
    [
        "",
        "Q",
        "Q10001",
        "100014",
        "Q012345",
        "Q1000O1X",
        "Q" + "1" * 19,
        "Q 1" * 1000,
        "Q١٠٠٠١٤",
        "0198f3c2-7d1e-7abc-8def-0123456789ab",
    ],
)
def test_what_is_no_number_is_not_taken_for_one(other: str) -> None:
    assert not QUOTES.means(other)
    with pytest.raises(NotFound):
        read_number(other)


def test_serials_start_at_10001() -> None:
    with pytest.raises(BadValue):
        quote_number(10_000)
    with pytest.raises(NotFound):
        read_number(f"Q10000{_damm('10000')}")


def test_the_examples_in_the_module_hold() -> None:
    assert doctest.testmod(numbers).failed == 0
