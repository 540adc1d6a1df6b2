"""The calculation: from jobs to sizes, cut list, material, bench time, lines and totals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.advice.advisory import Advisory, Checked
from service.domain.jobs.advice.checks import advise
from service.domain.jobs.assembly import assemble
from service.domain.jobs.cut_list import Piece, cut_list
from service.domain.jobs.hanging import Hung, hanging
from service.domain.jobs.job import PLAIN, Conditions, Job, JobSpec
from service.domain.jobs.sizes import Sizes, work_out
from service.domain.jobs.takeoff import frame_uses, joining_uses, package_uses, supply_uses
from service.domain.jobs.use import Use
from service.domain.jobs.weight import weight_mg
from service.domain.labour.drivers import Drivers, finishing_drivers, frame_drivers, package_drivers
from service.domain.labour.standard import (
    LabourStandard,
    OperationTime,
    asked_time,
    bench_time,
    total_minutes,
)
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.money import Money
from service.domain.prices.asked import price_asked
from service.domain.prices.charging import job_ending, order_lines
from service.domain.prices.discounts import Reduction
from service.domain.prices.fees import price_fees, price_work
from service.domain.prices.lines import Line, Terms, price_labour, price_uses
from service.domain.prices.lists import PriceList
from service.domain.prices.totals import JobMoney, Totals, job_money, own_lines, totals
from service.domain.shop import PriceLevel, Shop
from service.domain.value import dataclass

CALCULATION = 3
"""The number of this calculation: it rises with every change that can change a figure.

A stored quote keeps its figures, and the number of the calculation that worked them out.
"""


@dataclass(frozen=True, slots=True)
class Basis:
    """The data a calculation uses: the shop, its catalogue, labour standard and price list.

    `level` is the price level, if it is not the usual one.
    """

    shop: Shop
    catalogue: Catalogue
    standard: LabourStandard
    price_list: PriceList
    level: PriceLevel | None = None

    def terms(self, pieces: int) -> Terms:
        """Return the pricing terms for a job of `pieces` pieces."""
        ending = self.shop.charging.ending_at("line")
        return Terms(self.price_list, self.shop.billing, self.catalogue, pieces, self.level, ending)

    def at_level(self, code: str) -> Basis:
        """Return the same basis at a price level of the shop; "" for the usual prices.

        Raises:
            JobRefused: the shop has no such level.
        """
        if not code:
            return self
        level = self.shop.level(code)
        if level is None:
            known = ", ".join(each.code for each in self.shop.levels) or "none"
            told = f"the shop has no price level {code}; it has {known}"
            raise JobRefused([Fault("/price_level", "unknown_level", told)])
        return replace(self, level=level)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEstimate:
    """One calculated job. `weight_mg` is of one piece; `minutes` and money are of all pieces."""

    job: Job
    sizes: Sizes
    pieces: tuple[Piece, ...]
    uses: tuple[Use, ...]
    weight_mg: int
    times: tuple[OperationTime, ...]
    minutes: Fraction
    lines: tuple[Line, ...]
    subtotal: Money
    percent_off: Fraction
    discount: Money
    advisories: tuple[Advisory, ...]
    reductions: tuple[Reduction, ...] = ()
    left: tuple[int, ...] = ()
    hanging: Hung | None = None


@dataclass(frozen=True, slots=True)
class Estimate:
    """A calculated document of one or more jobs."""

    basis: Basis
    jobs: tuple[JobEstimate, ...]
    totals: Totals
    conditions: Conditions = PLAIN


def estimate(jobs: Sequence[Job], basis: Basis) -> Estimate:
    """Calculate all jobs of a document.

    Raises:
        JobRefused: with the faults of every job, pointers from the document's root.
    """
    done: list[JobEstimate] = []
    faults: list[Fault] = []
    for position, job in enumerate(jobs):
        try:
            done.append(estimate_job(job, basis))
        except JobRefused as refused:
            faults.extend(fault.under(f"/jobs/{position}") for fault in refused.faults())
    if faults:
        raise JobRefused(faults)
    return Estimate(basis, tuple(done), total_of(done, basis))


def estimate_job(job: Job, basis: Basis) -> JobEstimate:
    """Calculate one job.

    Raises:
        JobRefused: its lengths leave no window or no room, or something in it has no price.
    """
    sizes = work_out(job, basis.shop)
    weight = weight_mg(job, sizes)
    uses = all_uses(job, sizes, weight, basis)
    standard = basis.standard
    if standard.multipliers:
        standard = standard.for_job(job)
    times = bench_time(standard, all_drivers(job, sizes, basis.shop, uses), job.quantity)
    asked = asked_time(job.lines, standard)
    terms = basis.terms(job.quantity)
    lines, faults = price_uses(uses, terms)
    if faults:
        raise JobRefused(faults)
    lines += price_work(job, sizes.ordered, terms)
    unpriced = set(range(len(job.goods))) - {_place(line) for line in lines}
    if unpriced:
        told = "this is not sold by the piece: the price list has no such price"
        raise JobRefused([Fault(f"/goods/{n}", "not_priced", told) for n in sorted(unpriced)])
    labour = price_labour(total_minutes(times), terms)
    if labour is not None:
        lines.append(labour)
    fees = price_fees(job.fees, sizes.ordered, terms)
    fees += price_asked(job.lines, terms.price_list)
    lines += fees
    ending = job_ending(lines, basis.shop, terms.price_list.currency)
    lines += ending
    money = job_money(lines, terms, job.discounts, fees=bool(fees or ending))
    checked = Checked(job, sizes, basis.shop, weight, basis.catalogue)
    return JobEstimate(
        job=job,
        sizes=sizes,
        pieces=cut_list(job, sizes),
        uses=uses,
        weight_mg=weight,
        times=(*times, *asked),
        minutes=total_minutes((*times, *asked)),
        lines=tuple(lines),
        subtotal=money.subtotal,
        percent_off=money.percent_off,
        discount=money.discount,
        advisories=advise(checked, uses),
        reductions=money.reductions,
        left=money.left,
        hanging=hanging(job, sizes.outside, basis.shop),
    )


def _place(line: Line) -> int:
    """Return which of the job's goods a line is of; -1 for none."""
    head, _, number = line.pointer.rpartition("/")
    return int(number) if head == "/goods" else -1


def all_uses(job: Job, sizes: Sizes, weight: int, basis: Basis) -> tuple[Use, ...]:
    """Return the material that one framed piece uses, in the order in which a quote lists it."""
    return (
        *frame_uses(sizes),
        *joining_uses(sizes, basis.shop, basis.catalogue),
        *package_uses(job, sizes, basis.shop),
        *supply_uses(job, sizes, weight, basis.shop, basis.catalogue),
    )


def all_drivers(job: Job, sizes: Sizes, shop: Shop, uses: tuple[Use, ...]) -> Drivers:
    """Return the drivers of all bench operations of one framed piece."""
    in_frame = [use for use in uses if use.pointer.startswith("/frames")]
    in_package = [use for use in uses if use.pointer.startswith("/mats")]
    drivers = package_drivers(job, sizes, shop, in_package)
    for part in (frame_drivers(sizes, shop, in_frame), finishing_drivers(job, sizes.outside)):
        for name, units in part.items():
            drivers[name] = drivers.get(name, 0) + units
    return drivers


def money_of(job: JobEstimate) -> JobMoney:
    """Return the money of a calculated job."""
    return JobMoney(job.subtotal, job.percent_off, job.discount, job.reductions, job.left)


def total_of(jobs: Sequence[JobEstimate], basis: Basis, conditions: Conditions = PLAIN) -> Totals:
    """Return the totals of a document's jobs.

    Raises:
        JobRefused: a discount larger than the amount it applies to, or a place without tax rates.
    """
    currency = basis.price_list.currency
    own = price_asked(conditions.lines, basis.price_list)
    own += order_lines(priced_lines(jobs, own, basis), basis.shop, currency, conditions)
    pairs = priced_lines(jobs, own, basis)
    done = totals(pairs, currency, basis.shop.taxation, conditions)
    if not own:
        return done
    return replace(done, off=done.off[: len(jobs)], lines=tuple(own))


def priced_lines(
    jobs: Sequence[JobEstimate], own: Sequence[Line], basis: Basis
) -> list[tuple[Sequence[Line], JobMoney]]:
    """Return the lines and the money of every job, and last those of the document itself."""
    pairs: list[tuple[Sequence[Line], JobMoney]] = [(job.lines, money_of(job)) for job in jobs]
    return [*pairs, own_lines(own, basis.price_list.currency)] if own else pairs


def estimate_request(
    specs: Sequence[JobSpec], basis: Basis, conditions: Conditions = PLAIN
) -> Estimate:
    """Calculate all jobs of a document under its conditions.

    Raises:
        JobRefused: with the faults of every job, pointers from the document's root.
    """
    basis = basis.at_level(conditions.level)
    done: list[JobEstimate] = []
    faults: list[Fault] = []
    for position, spec in enumerate(specs):
        try:
            done.append(estimate_job(assemble(spec, basis.shop, basis.catalogue), basis))
        except JobRefused as refused:
            faults.extend(fault.under(f"/jobs/{position}") for fault in refused.faults())
    if faults:
        raise JobRefused(faults)
    return Estimate(basis, tuple(done), total_of(done, basis, conditions), conditions)
