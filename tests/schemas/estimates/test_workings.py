"""Every working comes to its result: the formula is worked out again from the inputs as shown.

The arithmetic here is Python's own over fractions; nothing of the service takes part in it.
"""

from __future__ import annotations

import ast
import operator
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from math import floor
from typing import Any

import pytest

from schemas.estimates.workings import shown, working_row, workings_of
from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from schemas.wire.figures import plain
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.estimates.calculation import Basis, estimate_request
from service.domain.estimates.costs import job_cost
from service.domain.estimates.workings.holds import holds
from service.domain.estimates.workings.sizes import Working
from service.domain.measure.length import Length
from service.domain.measure.money import Currency, Money

BASIS = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
FLOATED = {
    "label": "Coin in a box",
    "artwork": {"width": "6", "height": "8", "thickness": "3/4", "kind": "object"},
    "presentation": "float",
    "float_margin": "3/4",
    "glazing": {"sheet": "GLZ-PG20", "spacer": "1/2"},
    "mounting": {"method": "edge_strips", "board": "BRD-1210"},
    "backing": {"board": "BCK-FOAM316"},
    "frames": [{"moulding": "MLD-OAK125", "fillet": "FIL-OAK14"}],
    "finishing": ["sealed_rabbet", "sealed_package", "wire"],
}
SEVERAL = {
    "label": "Two sizes, in aluminium",
    "openings": [
        {"artwork": {"width": "8", "height": "10"}, "x": "2", "y": "2"},
        {"artwork": {"width": "5", "height": "7"}, "x": "12", "y": "2", "shape": "arch"},
    ],
    "presentation": "overlap",
    "mats": [
        {"board": "BRD-1301", "border": "2", "grooves": ["1/2"]},
        {"board": "BRD-1302", "ruled_lines": ["1/8"]},
    ],
    "mounting": {"method": "dry_mounted", "board": "BRD-1214"},
    "glazing": {"sheet": "GLZ-PC30"},
    "frames": [{"moulding": "MLD-MTL038-BLK"}],
}
LINED = {
    "label": "Narrow border and a fillet in the frame",
    "artwork": {"width": "10", "height": "12"},
    "presentation": "overlap",
    "openings": {"arrangement": "grid", "rows": 1, "columns": 2, "gutter": "1"},
    "mats": [{"board": "BRD-1301", "border": "3/8"}],
    "mounting": {"method": "edge_strips"},
    "frames": [{"moulding": "MLD-OAK125", "fillet": "FIL-OAK14"}],
}
JOBS = demo_jobs() | {"new figures": {"units": "in", "jobs": [FLOATED, SEVERAL, LINED]}}
NEAR = Fraction(1, 100_000)
"""Numbers are shown to six places, so what is worked out from them may differ in the fifth."""


def _workings(name: str) -> list[tuple[str, Working]]:
    request = read(QUOTE_REQUEST, JOBS[name], unit="in")
    done = estimate_request(request.jobs, BASIS)
    return list(workings_of(done, [job_cost(job, BASIS) for job in done.jobs]))


def _rows(name: str) -> list[dict[str, Any]]:
    rows: list[Any] = plain([working_row(figure, working) for figure, working in _workings(name)])
    return rows


def _number(text: str) -> Fraction:
    """A number as shown; lengths in inches (1 in = 25.4 mm)."""
    if text.endswith(" mm"):
        return Fraction(text[:-3]) / Fraction("25.4")
    return sum((Fraction(part) for part in text.removesuffix(" in").split()), Fraction(0))


def _up(value: Fraction, step: Fraction) -> Fraction:
    return -floor(-value / step) * step


def _half_up(value: Fraction, step: Fraction) -> Fraction:
    return floor(value / step + Fraction(1, 2)) * step


def _down(value: Fraction, step: Fraction) -> Fraction:
    return floor(value / step) * step


def _first(value: Fraction, *others: Fraction) -> Fraction:
    return next(other for other in others if other >= value)


CALLS: dict[str, Callable[..., Fraction]] = {
    "max": max,
    "up": _up,
    "down": _down,
    "half_up": _half_up,
    "first": _first,
}
SIGNS: dict[type[ast.operator], Callable[[Fraction, Fraction], Fraction]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


def _worth(node: ast.expr, inputs: dict[str, Fraction]) -> Fraction:
    match node:
        case ast.Name(id=name):
            return inputs[name]
        case ast.Constant(value=value):
            return Fraction(str(value))
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return CALLS[name](*(_worth(each, inputs) for each in arguments))
        case ast.BinOp(left=left, op=sign, right=right):
            return SIGNS[type(sign)](_worth(left, inputs), _worth(right, inputs))
    raise AssertionError(f"{ast.dump(node)} is no part of a formula")


@pytest.mark.parametrize("name", JOBS)
def test_every_formula_comes_to_its_result(name: str) -> None:
    rows = _rows(name)
    for row in rows:
        inputs = {each: _number(value) for each, value in row["inputs"].items()}
        worth = _worth(ast.parse(row["formula"], mode="eval").body, inputs)
        exact = row["result"].endswith((" in", " mm")) or re.search(
            r"/(each|amount)$", row["figure"]
        )
        difference = abs(worth - _number(row["result"]))
        assert difference == 0 if exact else difference < NEAR, row


@pytest.mark.parametrize("name", JOBS)
def test_a_working_is_seen_to_hold_and_one_of_another_result_is_not(name: str) -> None:
    for figure, working in _workings(name):
        assert holds(working), figure
        result: Any = working.result
        if isinstance(result, Length):
            other: Any = Length(result.ticks + 1)
        else:
            other = (
                result.currency.minor(result.minor + 1) if isinstance(result, Money) else result + 1
            )
        assert not holds(replace(working, result=other)), figure


@pytest.mark.parametrize("name", JOBS)
def test_no_input_is_idle_and_no_figure_is_explained_twice(name: str) -> None:
    rows = _rows(name)
    for row in rows:
        named = set(re.findall(r"[a-z][a-z_0-9]*", row["formula"])) - set(CALLS)
        by_bracket = "quantity" not in named and "rate" in named  # the quantity finds the bracket
        assert named | ({"quantity"} if by_bracket else set()) == set(row["inputs"]), row
    figures = [row["figure"] for row in rows]
    assert len(figures) == len(set(figures))


@pytest.mark.parametrize("name", JOBS)
def test_the_figures_of_money_and_size_are_all_explained(name: str) -> None:
    figures = {row["figure"] for row in _rows(name)}
    jobs = estimate_request(read(QUOTE_REQUEST, JOBS[name], unit="in").jobs, BASIS).jobs
    wanted = {"/totals/subtotal", "/totals/total"}
    for at, done in enumerate(jobs):
        wanted |= {f"/jobs/{at}/{each}" for each in ("subtotal", "discount", "labour/minutes")}
        wanted |= {f"/jobs/{at}/sizes/{each}" for each in ("united_inches", "stack_depth")}
        wanted |= {f"/jobs/{at}/lines/{line}/amount" for line in range(len(done.lines))}
        for frame in range(len(done.sizes.frames)):
            wanted |= {f"/jobs/{at}/frames/{frame}/outside/{s}" for s in ("width", "height")}
    assert wanted <= figures


def test_values_are_shown_as_what_they_are() -> None:
    assert shown(Length.inches("16.375")) == "16 3/8 in"
    assert shown(Length.millimetres("415.9")) == "415.9 mm"
    assert shown(Currency("JPY").of("1200")) == "1200"
    assert shown(Fraction(1, 3)) == "0.333333"
    assert shown(12) == "12"


def test_the_inputs_of_a_row_cannot_be_changed() -> None:
    name = next(iter(demo_jobs()))
    for figure, working in _workings(name):
        for inputs in (working.inputs, working_row(figure, working).inputs):
            with pytest.raises(TypeError):
                inputs["new"] = 1  # type: ignore[index]
