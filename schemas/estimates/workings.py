"""The document of workings: formula, inputs and result of every figure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType

from schemas.estimates.shapes import Derivation
from schemas.estimates.shapes import Working as Shown
from schemas.wire.figures import number, rate_text
from schemas.wire.lengths import length_text
from service.domain.estimates.calculation import Estimate
from service.domain.estimates.costs import JobCost
from service.domain.estimates.workings.prices import cost_workings, job_workings, total_workings
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.measure.length import Length
from service.domain.measure.money import Money


def workings_of(estimate: Estimate, costs: Sequence[JobCost]) -> Iterator[tuple[str, Working]]:
    """Yield each figure's path in the answer and its working: by job, then totals."""
    for position, (job, cost) in enumerate(zip(estimate.jobs, costs, strict=True)):
        prefix = f"/jobs/{position}/"
        for working in job_workings(job, estimate.basis):
            yield prefix + working.figure, working
        for working in cost_workings(cost, job, estimate.basis):
            yield prefix + working.figure, working
    for working in total_workings(estimate):
        yield "/" + working.figure, working


def working_row(figure: str, working: Working) -> Shown:
    """Return the row of one figure."""
    return Shown(figure, working.formula, _inputs(working), shown(working.result))


def derivation(working: Working) -> Derivation:
    """Return a formula, its inputs and its result."""
    return Derivation(working.formula, _inputs(working), shown(working.result))


def _inputs(working: Working) -> Mapping[str, str]:
    return MappingProxyType({name: shown(value) for name, value in working.inputs.items()})


def shown(value: Value) -> str:
    """Return a value of a working: a length with its unit, money or a number as decimals."""
    if isinstance(value, Length):
        return length_text(value)
    if isinstance(value, Money):
        return value.text()
    exact = rate_text(Fraction(value))
    return exact if Fraction(exact) == value else number(Fraction(value))
