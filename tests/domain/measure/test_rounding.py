"""The named roundings, against decimal arithmetic and against each other."""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.measure.rounding import (
    decimal_text,
    down,
    half_up,
    half_up_to_step,
    multiple,
    up,
    up_to_step,
    up_to_step_of,
)

PLACES = st.integers(0, 5)
DECIMALS = st.decimals(-10_000, 10_000, places=6)
FRACTIONS = st.fractions(-10_000, 10_000, max_denominator=1000)
STEPS = st.fractions(Fraction(1, 1000), 10, max_denominator=1000)


@given(DECIMALS)
def test_half_up_up_and_down_are_those_of_decimal_arithmetic(number):
    over, under = Fraction(number).numerator, Fraction(number).denominator
    assert half_up(over, under) == number.to_integral_value(ROUND_HALF_UP)
    assert up(over, under) == number.to_integral_value(ROUND_CEILING)
    assert down(over, under) == number.to_integral_value(ROUND_FLOOR)


@pytest.mark.parametrize(
    ("number", "whole"), [("2.5", 3), ("-2.5", -3), ("0.5", 1), ("-0.5", -1), ("2.4999999", 2)]
)
def test_a_tie_goes_away_from_zero(number, whole):
    exact = Fraction(number)
    assert half_up(exact.numerator, exact.denominator) == whole


@given(FRACTIONS, STEPS)
def test_up_to_a_step_is_the_least_multiple_that_is_not_below(value, step):
    found = up_to_step(value, step)
    assert (found / step).denominator == 1
    assert value <= found < value + step
    assert found == up_to_step_of(value.numerator, value.denominator, step)


@given(FRACTIONS, STEPS)
def test_half_up_to_a_step_is_the_nearest_multiple(value, step):
    found = half_up_to_step(value, step)
    assert (found / step).denominator == 1
    assert 2 * abs(found - value) <= step


@given(FRACTIONS)
def test_a_step_of_nothing_leaves_a_figure_as_it_is(value):
    none = Fraction(0)
    assert up_to_step(value, none) == value == half_up_to_step(value, none)


def test_multiples_are_steps():
    assert multiple(3, 1, 4) == Fraction(3, 4)
    assert multiple(3) == 3


@given(DECIMALS, PLACES)
def test_decimal_text_is_the_decimal_rounded_half_up_without_idle_noughts(number, places):
    exact = Fraction(number)
    shown = decimal_text(exact.numerator, exact.denominator, places)
    assert Decimal(shown) == number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    assert "." not in shown or not shown.endswith("0")
    assert "e" not in shown.lower()


@pytest.mark.parametrize(
    ("over", "under", "places", "text"),
    [(131, 8, 7, "16.375"), (1, 3, 4, "0.3333"), (2, 3, 0, "1"), (100, 1, 2, "100"),
     (-1, 1000, 2, "0"), (-5, 2, 2, "-2.5"), (1, 100, 2, "0.01")],
)  # fmt: skip
def test_decimal_text_in_figures(over, under, places, text):
    assert decimal_text(over, under, places) == text


@pytest.mark.parametrize(
    ("paid", "cash"),
    [("2.10", "2.10"), ("2.11", "2.10"), ("2.12", "2.10"), ("2.13", "2.15"), ("2.14", "2.15"),
     ("2.15", "2.15"), ("2.16", "2.15"), ("2.17", "2.15"), ("2.18", "2.20"), ("2.19", "2.20"),
     ("2.20", "2.20"), ("5.98", "6.00"), ("5.97", "5.95")],
)  # fmt: skip
def test_the_published_cash_table_is_half_up_to_five_cents(paid, cash):
    # published: cash rounding in Canada, opc.gouv.qc.ca.
    assert half_up_to_step(Fraction(paid), Fraction("0.05")) == Fraction(cash)
