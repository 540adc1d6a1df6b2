"""The workings of a calculated document, as the answer shows them."""

from __future__ import annotations

from schemas.estimates.shapes import Working
from schemas.estimates.workings import working_row, workings_of
from service.domain.estimates.calculation import Estimate
from service.domain.estimates.costs import job_cost


def all_workings(estimate: Estimate) -> list[Working]:
    """The working of every figure of a document, including costs."""
    costs = [job_cost(job, estimate.basis) for job in estimate.jobs]
    return [working_row(figure, working) for figure, working in workings_of(estimate, costs)]
