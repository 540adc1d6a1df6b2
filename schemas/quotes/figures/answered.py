"""The figures of a revision that keeps none, from its stored answer.

Releases before figures stored only the answer, which rounds quantities and weights. Each figure of
the answer stands. Where the answer rounds, this release's own calculation supplies the exact value,
if it rounds to the one that was answered; otherwise the rounded value is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import orjson

from schemas.estimates.answer import estimate_document
from schemas.quotes.figures.answered_jobs import advisories_told, job_told
from schemas.quotes.figures.answered_money import sale_told, totals_told
from schemas.quotes.figures.documents import Worked, worked_now
from schemas.wire.record import encode
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, Estimate, JobEstimate, estimate_request
from service.domain.estimates.costs import job_cost
from service.domain.quotes.life import QuoteRequest, deposit_due

Told = Mapping[str, Any]
WORDING = frozenset({"advisories", "description"})
"""Fields of an answer that say something to people and are no figure."""
UNKNOWN = 0
"""The number of a calculation that is not known: some figure is not this release's."""


def worked_as_answered(answer: Told, costs: Told, asked: QuoteRequest, basis: Basis) -> Worked:
    """Return a revision as its stored answer tells it.

    Args:
        answer: the stored answer.
        costs: the stored costs.
        asked: the document that was calculated.
        basis: the data that it was calculated from.
    """
    now = _calculated(asked, basis)
    if now is not None and _stands(answer, orjson.loads(encode(estimate_document(now)))):
        jobs = tuple(map(_in_words_of, now.jobs, answer["jobs"], range(len(now.jobs))))
        return replace(worked_now(replace(now, jobs=jobs)), release="")
    jobs = tuple(
        job_told(told, spec, basis, at)
        for at, (told, spec) in enumerate(zip(answer["jobs"], asked.jobs, strict=True))
    )
    totals = totals_told(answer["totals"], jobs, basis, asked.conditions)
    estimate = Estimate(basis, jobs, totals, asked.conditions)
    return Worked(
        estimate=estimate,
        costs=tuple(job_cost(job, basis) for job in jobs),
        sale=sale_told(estimate, answer, costs),
        deposit=deposit_due(totals.total, basis.shop),
        calculation=UNKNOWN,
        release="",
    )


def _calculated(asked: QuoteRequest, basis: Basis) -> Estimate | None:
    try:
        return estimate_request(asked.jobs, basis, asked.conditions)
    except JobRefused:
        return None


def _in_words_of(now: JobEstimate, told: Told, at: int) -> JobEstimate:
    """Return a job with the advisories of its answer, in the words of its day."""
    return replace(now, advisories=advisories_told(told, at))


def _stands(stored: object, now: object) -> bool:
    """Return True if every figure of a stored answer is in today's answer."""
    if isinstance(stored, dict) and isinstance(now, dict):
        return all(
            name in WORDING or (name in now and _stands(value, now[name]))
            for name, value in stored.items()
        )
    if isinstance(stored, Sequence) and not isinstance(stored, str) and isinstance(now, list):
        return len(stored) == len(now) and all(map(_stands, stored, now))
    return stored == now
