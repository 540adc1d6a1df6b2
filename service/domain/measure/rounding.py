"""The rounding functions. All rounding in the service goes through these named functions.

All work on exact fractions given as numerator and denominator (denominator above zero), so no
binary floating point is involved: `half_up(5, 2)` is 3. `half_up` takes ties away from zero, as
money is rounded by hand and as the Streamlined Sales and Use Tax Agreement, s. 324, requires
(up when the third decimal is greater than four).

>>> half_up(164_4999, 10_000), half_up(8255, 1000), half_up(8254, 1000)
(164, 8, 8)
>>> up_to_step(Fraction(37, 8), Fraction(1, 4)), down(9, 2)
(Fraction(19, 4), 4)
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from math import lcm


def half_up(numerator: int, denominator: int) -> int:
    """Return the nearest integer; a tie goes away from zero."""
    if numerator < 0:
        return -((-2 * numerator + denominator) // (2 * denominator))
    return (2 * numerator + denominator) // (2 * denominator)


def half_down(numerator: int, denominator: int) -> int:
    """Return the nearest integer; a tie goes towards zero."""
    if numerator < 0:
        return -half_down(-numerator, denominator)
    return -((denominator - 2 * numerator) // (2 * denominator))


def up(numerator: int, denominator: int) -> int:
    """Return the smallest integer not below the fraction."""
    return -(-numerator // denominator)


def down(numerator: int, denominator: int) -> int:
    """Return the largest integer not above the fraction."""
    return numerator // denominator


def up_to_step(value: Fraction, step: Fraction) -> Fraction:
    """Return the smallest multiple of `step` not below `value`; a step of 0 leaves it unchanged."""
    return up_to_step_of(*value.as_integer_ratio(), step)


def up_to_step_of(numerator: int, denominator: int, step: Fraction) -> Fraction:
    """Return `up_to_step` of numerator/denominator, without building that fraction first."""
    over, under = step.as_integer_ratio()
    if not over:
        return Fraction(numerator, denominator)
    return multiple(up(numerator * under, denominator * over), over, under)


def half_up_to_step(value: Fraction, step: Fraction) -> Fraction:
    """Return the nearest multiple of `step`, ties away from zero; 0 leaves the value unchanged."""
    if not step:
        return value
    over, under = step.numerator, step.denominator
    return multiple(half_up(value.numerator * under, value.denominator * over), over, under)


@lru_cache(maxsize=4_096)
def multiple(times: int, over: int = 1, under: int = 1) -> Fraction:
    """Return `times` steps of over/under; cached, as billed quantities recur."""
    return Fraction(times * over, under)


def product(one: Fraction, other: Fraction) -> Fraction:
    """Return the product; cached, as costs meet the same factors repeatedly."""
    return _product(*one.as_integer_ratio(), *other.as_integer_ratio())


@lru_cache(maxsize=4_096)
def _product(over: int, under: int, other_over: int, other_under: int) -> Fraction:
    return Fraction(over * other_over, under * other_under)


def excess(one: Fraction, other: Fraction) -> Fraction:
    """Return how much `one` exceeds `other`, or zero; cached like `product`.

    >>> excess(Fraction(3), Fraction(1)), excess(Fraction(1), Fraction(3))
    (Fraction(2, 1), Fraction(0, 1))
    """
    return _excess(*one.as_integer_ratio(), *other.as_integer_ratio())


@lru_cache(maxsize=4_096)
def _excess(over: int, under: int, other_over: int, other_under: int) -> Fraction:
    more = over * other_under - other_over * under
    return Fraction(max(more, 0), under * other_under)


def exact_sum(parts: Iterable[Fraction]) -> Fraction:
    """Return the sum of many fractions, over their common denominator.

    >>> exact_sum([Fraction(1, 4), Fraction(3, 10)])
    Fraction(11, 20)
    """
    ratios = [part.as_integer_ratio() for part in parts]
    common = lcm(*(under for _, under in ratios))
    return Fraction(sum(over * (common // under) for over, under in ratios), common)


def decimal_text(numerator: int, denominator: int, places: int) -> str:
    """Return the number as decimal text: exact if it ends within `places`, else half up there.

    >>> decimal_text(131, 8, 7), decimal_text(1, 3, 4), decimal_text(-5, 2, 2)
    ('16.375', '0.3333', '-2.5')
    """
    scaled = half_up(numerator * 10**places, denominator)
    sign, digits = ("-" if scaled < 0 else ""), str(abs(scaled)).rjust(places + 1, "0")
    whole, decimals = digits[: len(digits) - places], digits[len(digits) - places :].rstrip("0")
    return f"{sign}{whole}.{decimals}" if decimals else sign + whole
