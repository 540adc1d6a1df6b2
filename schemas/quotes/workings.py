"""The workings of a stored quote: how each figure came about, and by which calculation."""

from __future__ import annotations

from schemas.estimates.shapes import WorkedOutBy
from schemas.estimates.shapes import Working as Shown
from schemas.estimates.workings import derivation, working_row, workings_of
from schemas.quotes.figures.documents import Worked
from schemas.quotes.records import QuoteHead, Revision
from schemas.quotes.shapes import Workings
from schemas.quotes.stored import worked, worked_again
from service.domain.estimates.costs import job_cost
from service.domain.estimates.workings.holds import holds
from service.domain.estimates.workings.sizes import Working

KEPT = "kept"
"""The formula of a figure that this release's formula does not come to."""


def workings_document(head: QuoteHead, revision: Revision) -> Workings:
    """Return the working of every figure of a quote's revision.

    The figures are the stored ones. Where this release comes to another, the row says which
    calculation worked the figure out, and what this release comes to.
    """
    sold, now = worked(revision), _now(revision)
    by = _by(sold)
    return Workings(
        number=head.number,
        revision=head.revision,
        worked_out_by=by,
        workings=tuple(
            [
                _row(figure, working, now.get(figure), by)
                for figure, working in workings_of(sold.estimate, sold.costs)
            ]
        ),
    )


def _by(sold: Worked) -> WorkedOutBy:
    """Return the calculation and the release that worked a revision out; null if unknown."""
    return WorkedOutBy(sold.calculation or None, sold.release or None)


def _now(revision: Revision) -> dict[str, Working]:
    """Return the workings of this release, by figure; none if it refuses the document."""
    again = worked_again(revision)
    if again is None:
        return {}
    return dict(workings_of(again, [job_cost(job, again.basis) for job in again.jobs]))


def _row(figure: str, working: Working, now: Working | None, by: WorkedOutBy) -> Shown:
    if now == working:
        return working_row(figure, working)
    stands = holds(working)
    if now is not None and now.result == working.result and stands:
        return working_row(figure, working)
    if not stands:
        kept = {KEPT: working.result}
        working = Working(working.figure, KEPT, kept, working.result)
    row, other = working_row(figure, working), None if now is None else derivation(now)
    return Shown(row.figure, row.formula, row.inputs, row.result, by, other)
