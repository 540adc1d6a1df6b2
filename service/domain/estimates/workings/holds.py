"""Checks that a working's formula comes to its result: a stored figure may be another release's."""

from __future__ import annotations

import ast
import operator
from collections.abc import Callable, Mapping
from fractions import Fraction
from math import floor

from service.domain.estimates.workings.sizes import Value, Working
from service.domain.measure.length import Length
from service.domain.measure.money import Money

NEAR = Fraction(1, 1_000_000)
"""A rounded quantity is shown to six places; a length and an amount are exact."""
Number = Callable[..., Fraction]


def holds(working: Working) -> bool:
    """Return True if the formula over the inputs comes to the result."""
    inputs = {name: _number(value) for name, value in working.inputs.items()}
    value = _value(ast.parse(working.formula, mode="eval").body, inputs)
    apart = abs(value - _number(working.result))
    return apart == 0 if isinstance(working.result, Length | Money) else apart < NEAR


def _number(value: Value) -> Fraction:
    if isinstance(value, Length):
        return value.in_inches()
    return value.units() if isinstance(value, Money) else Fraction(value)


def _up(value: Fraction, step: Fraction) -> Fraction:
    return -floor(-value / step) * step


def _down(value: Fraction, step: Fraction) -> Fraction:
    return floor(value / step) * step


def _half_up(value: Fraction, step: Fraction) -> Fraction:
    return floor(value / step + Fraction(1, 2)) * step


def _half_down(value: Fraction, step: Fraction) -> Fraction:
    return -floor(Fraction(1, 2) - value / step) * step


def _first(value: Fraction, *others: Fraction) -> Fraction:
    return next((other for other in others if other >= value), value)


CALLS: Mapping[str, Number] = {
    "max": max,
    "up": _up,
    "down": _down,
    "half_up": _half_up,
    "half_down": _half_down,
    "first": _first,
}
SIGNS: Mapping[type[ast.operator], Number] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


def _value(node: ast.expr, inputs: Mapping[str, Fraction]) -> Fraction:
    """Return the value of a formula of this project, which has no other kind of expression."""
    if isinstance(node, ast.Name):
        return inputs[node.id]
    if isinstance(node, ast.Constant):
        return Fraction(str(node.value))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        return CALLS[node.func.id](*(_value(each, inputs) for each in node.args))
    if isinstance(node, ast.BinOp):
        return SIGNS[type(node.op)](_value(node.left, inputs), _value(node.right, inputs))
    raise AssertionError(f"{ast.dump(node)} is no part of a formula")
