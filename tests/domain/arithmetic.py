"""A little evaluator of the formulas of workings, on fractions: + - * /, brackets, roundings.

It shares nothing with the service: Python's own parser reads the formula, and the two roundings are
written out again here.
"""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping
from fractions import Fraction

Number = Fraction
_BINARY: Mapping[type[ast.operator], Callable[[Number, Number], Number]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


def up(value: Number, step: Number) -> Number:
    """The least multiple of `step` that is not below; a step of 0 changes nothing."""
    return math.ceil(value / step) * step if step else value


def half_up(value: Number, step: Number) -> Number:
    """The nearest multiple of `step`, ties away from zero; a step of 0 changes nothing."""
    if not step:
        return value
    times = abs(value) / step
    nearest = math.floor(times + Fraction(1, 2)) * step
    return -nearest if value < 0 else nearest


def half_down(value: Number, step: Number) -> Number:
    """The nearest multiple of `step`, ties towards zero."""
    times = abs(value) / step
    nearest = math.ceil(times - Fraction(1, 2)) * step
    return -nearest if value < 0 else nearest


def down(value: Number, step: Number) -> Number:
    """The greatest multiple of `step` that is not above."""
    return math.floor(value / step) * step


def first(value: Number, *others: Number) -> Number:
    """The first of the others that is not below."""
    return next(other for other in others if other >= value)


_FUNCTIONS: Mapping[str, Callable[..., Number]] = {
    "up": up,
    "down": down,
    "half_up": half_up,
    "half_down": half_down,
    "max": max,
    "first": first,
}


def evaluate(formula: str, inputs: Mapping[str, Number]) -> Number:
    """What the formula comes to.

    Raises:
        ValueError: it holds anything but plain arithmetic over its inputs.
    """
    return _value(ast.parse(formula, mode="eval").body, formula, inputs)


def _value(node: ast.expr, formula: str, inputs: Mapping[str, Number]) -> Number:
    match node:
        case ast.Name(id=name):
            return inputs[name]
        case ast.Constant(value=int() | float()):
            # The digits as written, since the parser makes a binary float of 0.0254.
            return Fraction(formula[node.col_offset : node.end_col_offset])
        case ast.BinOp(left=left, op=sign, right=right) if type(sign) in _BINARY:
            one, other = (_value(side, formula, inputs) for side in (left, right))
            return _BINARY[type(sign)](one, other)
        case ast.Call(func=ast.Name(id=name), args=given, keywords=[]) if len(given) > 1:
            return _FUNCTIONS[name](*(_value(each, formula, inputs) for each in given))
    raise ValueError(f"{ast.dump(node)} is not plain arithmetic")
