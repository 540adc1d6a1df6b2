"""The rows of an estimate's workings, as a quote shows them."""

from __future__ import annotations

from schemas.estimates.shapes import Working as Shown
from schemas.estimates.workings import working_row, workings_of
from service.domain.estimates.calculation import Estimate
from service.domain.estimates.costs import job_cost


def all_workings(estimate: Estimate) -> tuple[Shown, ...]:
    """Return the working of every figure of a document, including costs: by job, then totals."""
    costs = [job_cost(job, estimate.basis) for job in estimate.jobs]
    return tuple([working_row(figure, each) for figure, each in workings_of(estimate, costs)])
