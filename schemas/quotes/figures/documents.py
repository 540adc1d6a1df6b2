"""The figures of a whole document: kept with its quote, and made an estimate again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from typing import Any, cast

from schemas.quotes.figures import records as kept
from schemas.quotes.figures.jobs import exact, keep_conditions, keep_job, the_conditions, the_job
from schemas.quotes.figures.material import (
    keep_hanging,
    keep_piece,
    keep_sizes,
    keep_time,
    keep_use,
    the_cost,
    the_hanging,
    the_piece,
    the_sizes,
    the_time,
    the_use,
)
from schemas.quotes.figures.money import (
    keep_line,
    keep_reduction,
    keep_sale,
    keep_totals,
    the_line,
    the_reduction,
    the_sale,
    the_totals,
)
from service.domain.estimates.calculation import CALCULATION, Basis, Estimate, JobEstimate
from service.domain.estimates.costs import JobCost, job_cost
from service.domain.jobs.advice.advisory import Advisory
from service.domain.measure.money import Currency, Money
from service.domain.quotes.life import deposit_due
from service.domain.quotes.sale import Sale, sale_of

DISTRIBUTION = "framing-quotes"


@dataclass(frozen=True, slots=True)
class Worked:
    """A stored revision as it was worked out: nothing in it is calculated again.

    Attributes:
        estimate: its jobs and totals, on the basis of its day.
        costs: what each job costs the shop.
        sale: what is sold when it is accepted.
        deposit: what is due when it is accepted.
        calculation: the number of the calculation that worked it out.
        release: the release that did; empty where that was not kept.
    """

    estimate: Estimate
    costs: tuple[JobCost, ...]
    sale: Sale
    deposit: Money
    calculation: int
    release: str


@cache
def release() -> str:
    """Return the version of this release; empty where it runs without being installed."""
    try:
        return version(DISTRIBUTION)
    except PackageNotFoundError:
        return ""


def worked_now(estimate: Estimate) -> Worked:
    """Return a document as this release has just worked it out."""
    costs = tuple(job_cost(job, estimate.basis) for job in estimate.jobs)
    return Worked(
        estimate=estimate,
        costs=costs,
        sale=sale_of(estimate, costs),
        deposit=deposit_due(estimate.totals.total, estimate.basis.shop),
        calculation=CALCULATION,
        release=release(),
    )


def keep(worked: Worked) -> kept.Figures:
    """Return the figures of a document, to be stored."""
    estimate = worked.estimate
    return kept.Figures(
        jobs=tuple(map(_keep_job, estimate.jobs, worked.costs)),
        totals=keep_totals(estimate.totals),
        deposit=worked.deposit.minor,
        sale=keep_sale(worked.sale),
        calculation=worked.calculation,
        release=worked.release,
        conditions=keep_conditions(estimate.conditions),
    )


def _keep_job(done: JobEstimate, cost: JobCost) -> kept.JobFigures:
    return kept.JobFigures(
        job=keep_job(done.job),
        sizes=keep_sizes(done.sizes),
        pieces=tuple(map(keep_piece, done.pieces)),
        uses=tuple(map(keep_use, cost.materials)),
        weight_mg=done.weight_mg,
        times=tuple(map(keep_time, done.times)),
        minutes=str(done.minutes),
        lines=tuple(map(keep_line, done.lines)),
        subtotal=done.subtotal.minor,
        labour_cost=str(cost.labour),
        percent_off=str(done.percent_off),
        discount=done.discount.minor,
        advisories=tuple(
            kept.Advisory(each.code, each.severity, each.message, each.pointer, each.overridden)
            for each in done.advisories
        ),
        reductions=tuple(map(keep_reduction, done.reductions)),
        left=done.left,
        hanging=keep_hanging(done.hanging),
    )


def worked_then(figures: kept.Figures, basis: Basis) -> Worked:
    """Return kept figures as the document they are of, on the basis stored with it."""
    currency = basis.price_list.currency
    jobs = tuple(_job(each, basis) for each in figures.jobs)
    totals = the_totals(figures.totals, basis.price_list)
    conditions = the_conditions(figures.conditions)
    basis = replace(basis, level=basis.shop.level(conditions.level))
    return Worked(
        estimate=Estimate(basis, jobs, totals, conditions),
        costs=_costs(figures.jobs, jobs, basis),
        sale=the_sale(figures, currency, Currency(basis.shop.currency)),
        deposit=Money(figures.deposit, currency),
        calculation=figures.calculation,
        release=figures.release,
    )


def _costs(
    figures: Sequence[kept.JobFigures], jobs: Sequence[JobEstimate], basis: Basis
) -> tuple[JobCost, ...]:
    pairs = zip(figures, jobs, strict=True)
    own = Currency(basis.shop.currency)
    return tuple(the_cost(each, job.uses, basis.catalogue, own) for each, job in pairs)


def _job(figures: kept.JobFigures, basis: Basis) -> JobEstimate:
    currency, catalogue = basis.price_list.currency, basis.catalogue
    job = the_job(figures.job, basis)
    return JobEstimate(
        job=job,
        sizes=the_sizes(figures.sizes, job),
        pieces=tuple(the_piece(piece, catalogue) for piece in figures.pieces),
        uses=tuple(the_use(use, catalogue) for use in figures.uses),
        weight_mg=figures.weight_mg,
        times=tuple(map(the_time, figures.times)),
        minutes=exact(figures.minutes),
        lines=tuple(the_line(line, basis.price_list) for line in figures.lines),
        subtotal=Money(figures.subtotal, currency),
        percent_off=exact(figures.percent_off),
        discount=Money(figures.discount, currency),
        advisories=tuple(
            Advisory(
                each.code,
                cast(Any, each.severity),
                each.message,
                each.pointer,
                each.overridden,
            )
            for each in figures.advisories
        ),
        reductions=tuple(the_reduction(each, currency) for each in figures.reductions),
        left=figures.left,
        hanging=the_hanging(figures.hanging),
    )
