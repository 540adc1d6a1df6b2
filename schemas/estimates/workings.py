"""The document of workings: formula, inputs and result of every figure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from schemas.estimates.shapes import Working as Shown
from schemas.wire.figures import number, rate_text
from schemas.wire.lengths import length_text
from service.domain.estimates.calculation import Estimate
from service.domain.estimates.costs import job_cost
from service.domain.estimates.workings.prices import cost_workings, job_workings, total_workings
from service.domain.estimates.workings.sizes import Value, Working
from service.domain.measure.length import Length
from service.domain.measure.money import Money


def all_workings(estimate: Estimate) -> tuple[Shown, ...]:
    """Return the working of every figure of a document, including costs: by job, then totals."""
    rows: list[Shown] = []
    for position, job in enumerate(estimate.jobs):
        prefix = f"/jobs/{position}/"
        rows.extend(_rows(job_workings(job, estimate.basis), prefix))
        cost = job_cost(job, estimate.basis)
        rows.extend(_rows(cost_workings(cost, job, estimate.basis), prefix))
    rows.extend(_rows(total_workings(estimate), "/"))
    return tuple(rows)


def _rows(workings: Iterable[Working], prefix: str) -> Iterator[Shown]:
    for working in workings:
        yield Shown(
            figure=prefix + working.figure,
            formula=working.formula,
            inputs={name: shown(value) for name, value in working.inputs.items()},
            result=shown(working.result),
        )


def shown(value: Value) -> str:
    """Return a value of a working: a length with its unit, money or a number as decimals."""
    if isinstance(value, Length):
        return length_text(value)
    if isinstance(value, Money):
        return value.text()
    exact = rate_text(Fraction(value))
    return exact if Fraction(exact) == value else number(Fraction(value))
