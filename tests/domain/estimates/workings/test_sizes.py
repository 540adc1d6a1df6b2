"""Every figure is explained by a formula that comes to it, exactly and as it is printed."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from schemas.wire.figures import number
from schemas.wire.figures import plain as told
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, Estimate, estimate
from service.domain.estimates.costs import job_cost
from service.domain.estimates.workings.prices import cost_workings, job_workings, total_workings
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, JobSpec
from service.domain.measure.length import Length
from service.domain.measure.money import Money
from service.domain.prices.lists import PriceList
from service.domain.shop import Billing, Taxation
from tests.domain.arithmetic import evaluate, half_up
from tests.domain.bench_shop import basis
from tests.domain.explained import all_workings
from tests.domain.random_jobs import job_specs
from tests.domain.sample_jobs import BARE, PLAIN, SHOP, art, mat, spec, under

DEMO = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())


def plain(value: Value) -> Fraction:
    """A value as a number: a length in inches, money in whole units."""
    if isinstance(value, Length):
        return value.in_inches()
    return value.units() if isinstance(value, Money) else Fraction(value)


def every_working(whole: Estimate) -> Iterator[Working]:
    for done in whole.jobs:
        yield from job_workings(done, whole.basis)
        yield from cost_workings(job_cost(done, whole.basis), done, whole.basis)
    yield from total_workings(whole)


def wrong(workings: Iterator[Working]) -> list[str]:
    """The workings whose formula does not come to their result."""
    found = []
    for working in workings:
        inputs = {name: plain(value) for name, value in working.inputs.items()}
        came = evaluate(working.formula, inputs)
        if came != plain(working.result):
            found.append(f"{working.figure}: {working.formula} = {came}, not {working.result}")
    return found


def printed(text: str) -> Fraction:
    """A printed figure as a number: 16 3/8 in, 415.925 mm, 4.202908."""
    words = text.split()
    per = {"in": Fraction(1), "mm": 1 / Fraction("25.4")}
    unit = per[words.pop()] if words[-1] in per else Fraction(1)
    sign = -1 if words[0].startswith("-") else 1
    return sign * sum((Fraction(word.lstrip("-")) for word in words), Fraction(0)) * unit


def wrong_in_print(rows: list[dict[str, object]]) -> list[str]:
    """The printed rows that do not come to their result, to the last place that is printed."""
    found = []
    for row in rows:
        inputs = {name: printed(text) for name, text in row["inputs"].items()}
        came, result = evaluate(row["formula"], inputs), printed(row["result"])
        exact = row["result"].endswith((" in", " mm"))
        # A figure is printed to the sixth decimal, and so are those that it was made of.
        if abs(came - result) > (0 if exact else Fraction(len(inputs) + 1, 2_000_000)):
            found.append(f"{row['figure']}: {row['formula']} = {came}, not {row['result']}")
    return found


def worked(spec_: JobSpec, shop: Basis) -> Estimate:
    return estimate([assemble(spec_, shop.shop, shop.catalogue)], shop)


def demo(name: str) -> Estimate:
    request = read(QUOTE_REQUEST, demo_jobs()[name], unit=DEMO.shop.ruler.unit)
    jobs = [assemble(each, DEMO.shop, DEMO.catalogue) for each in request.jobs]
    return estimate(jobs, DEMO)


@pytest.mark.parametrize("name", demo_jobs())
def test_every_formula_of_a_demo_job_comes_to_its_result(name):
    assert wrong(every_working(demo(name))) == []


@pytest.mark.parametrize("name", demo_jobs())
def test_every_printed_formula_of_a_demo_job_comes_to_its_printed_result(name):
    whole = demo(name)
    rows = told(all_workings(whole))
    assert len(rows) > 40
    assert wrong_in_print(rows) == []


BILLINGS = [
    Billing(),
    Billing(united_inches="sides", square_foot_step=Fraction("0.01"), minute_step=Fraction(5)),
    Billing(linear_foot_step=Fraction(1, 4), linear_foot_minimum=Fraction(4)),
]
STEPPED = [basis(billing=billing) for billing in (BILLINGS[0], BILLINGS[2])]
"""Shops that bill by steps, so that each billed quantity ends within the six decimals printed."""
SHOPS = [basis(billing=billing) for billing in BILLINGS]
SHOPS.append(basis(taxation=Taxation(included=True, rates=SHOP.shop.taxation.rates)))


@settings(max_examples=150)
@given(job_specs(), st.sampled_from(SHOPS))
def test_every_formula_of_any_job_comes_to_its_result(any_spec, shop):
    try:
        whole = worked(any_spec, shop)
    except JobRefused:
        return
    assert wrong(every_working(whole)) == []


@settings(max_examples=100)
@given(job_specs(), st.sampled_from(STEPPED))
def test_every_printed_formula_of_any_job_comes_to_its_printed_result(any_spec, shop):
    try:
        whole = worked(any_spec, shop)
    except JobRefused:
        return
    assert wrong_in_print(told(all_workings(whole))) == []


def figures(spec_: JobSpec = PLAIN, shop: Basis = SHOP) -> dict[str, Working]:
    return {working.figure: working for working in every_working(worked(spec_, shop))}


def test_no_figure_is_explained_twice():
    found = list(every_working(worked(spec(mats=(mat(fillet="GILT"), under())), SHOP)))
    assert len({working.figure for working in found}) == len(found)


def test_the_figures_of_a_job_are_all_there():
    found = figures(spec(finishing=("wire",)))
    for figure in (
        "sizes/shows/width", "mats/0/openings/0/height", "sizes/package/width",
        "frames/0/rabbet/width", "frames/0/frame_sight/height", "frames/0/outside/width",
        "frames/0/feet", "sizes/border_showing/bottom", "sizes/stack_depth",
        "sizes/united_inches", "sizes/square_feet", "sizes/weight_kg",
        "weight/glazing", "weight/mats/0", "weight/frames/0", "totals/taxes/0/base",
        "materials/frames/0/linear_foot", "materials/mats/0/united_inch", "labour/minutes",
        "labour/operations/op_bevel_cuts", "lines/0/each", "lines/0/amount", "subtotal",
        "discount", "totals/subtotal", "totals/tax", "totals/total", "costs/labour",
    ):  # fmt: skip
        assert figure in found, figure


def test_a_line_of_free_units_says_how_many_were_free():
    rules = [
        replace(rule, above=Fraction(30)) if rule.component == "labour" else rule
        for rule in SHOP.price_list.rules
    ]
    old = SHOP.price_list
    shop = replace(SHOP, price_list=PriceList("free", old.currency, old.first_day, rules))
    found = figures(PLAIN, shop)
    lines = [w for figure, w in found.items() if figure.endswith("/quantity")]
    assert [line.formula for line in lines] == ["up(minutes, step) - above"]
    assert wrong(every_working(worked(PLAIN, shop))) == []


@pytest.mark.parametrize("sides", [8, 12])
def test_a_frame_of_many_sides_is_explained_too(sides):
    square = spec(BARE, artwork=art("10 x 10"), frames=(FrameSpec("OAK", sides=sides),))
    whole = worked(square, SHOP)
    assert wrong(every_working(whole)) == []
    assert wrong_in_print(told(all_workings(whole))) == []
    assert {"frames/0/feet", "weight/frames/0"} <= set(figures(square))


def test_a_job_without_a_frame_or_a_price_has_workings_too():
    assert wrong(every_working(worked(spec(BARE, frames=()), SHOP))) == []


@pytest.mark.parametrize(
    ("formula", "result"),
    [("2 * (a + 1.5) / 4", "1.75"), ("up(a, 0.75)", "2.25"), ("half_up(a / 16, 0.05)", "0.15"),
     ("max(a - 3, 0)", "0")],
)  # fmt: skip
def test_the_evaluator_itself(formula, result):
    assert evaluate(formula, {"a": Fraction(2)}) == Fraction(result)
    assert half_up(Fraction(-5, 2), Fraction(1)) == -3


@pytest.mark.parametrize(
    "formula", ["a ** 2", "__import__('os')", "min(a, 1)", "-a", "a if a else 1"]
)
def test_the_evaluator_takes_nothing_but_plain_arithmetic(formula):
    with pytest.raises((ValueError, KeyError)):
        evaluate(formula, {"a": Fraction(2)})


def test_printed_numbers_are_those_of_the_wire():
    assert printed(number(Fraction(131, 8))) == Fraction(131, 8)
    assert printed("-16 3/8 in") == Fraction(-131, 8)
    assert printed("25.4 mm") == 1
