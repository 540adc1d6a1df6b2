"""One job against many mouldings: a total for each, without doing the rest of the job again.

Everything that the moulding does not touch (mats, glazing, boards and their bench time) is worked
out once. What it does touch goes through the same functions as an estimate, so that a sweep and an
estimate of the same job cannot differ; a test holds them equal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from service.domain.advisories import frame_advisories
from service.domain.advisory import Advisory, Checked
from service.domain.bench import FRAME_DRIVERS, finishing_drivers, frame_drivers, package_drivers
from service.domain.catalogue import Moulding
from service.domain.errors import Fault, JobRefused
from service.domain.estimate import Basis
from service.domain.fees import price_fees
from service.domain.frame import Frame
from service.domain.job import Job
from service.domain.labour import LabourStandard, bench_minutes
from service.domain.measure.length import Size
from service.domain.pricing import Line, price_labour, price_uses
from service.domain.sizes import Sizes, framed, stack_depth, work_out
from service.domain.takeoff import frame_uses, hardware_for, package_uses, supply_uses
from service.domain.totals import Totals, job_money, totals
from service.domain.use import Use
from service.domain.weight import frames_mg, package_mg


@dataclass(frozen=True, slots=True)
class Choice:
    """One moulding tried: its totals and what there is to say about it, or why it will not do."""

    moulding: Moulding
    totals: Totals | None
    advisories: tuple[Advisory, ...]
    refused: JobRefused | None = None


class MouldingSweep:
    """A job with its innermost frame left open, ready to be priced with any moulding.

    Raises:
        JobRefused: what the job has besides the frame does not make sense or has no price.
    """

    __slots__ = (
        "_bare",
        "_basis",
        "_drivers",
        "_fees",
        "_job",
        "_lines",
        "_minutes",
        "_package_mg",
        "_roles",
        "_supplied",
        "_terms",
        "_touched",
    )

    def __init__(self, job: Job, basis: Basis) -> None:
        self._job, self._basis, self._terms = job, basis, basis.terms(job.quantity)
        # Without its frames a job has lost its rabbet fillet, which the stack still holds.
        bare = work_out(replace(job, frames=()), basis.shop)
        self._bare = replace(bare, stack_depth=stack_depth(job))
        self._package_mg = package_mg(job, self._bare)
        uses = tuple(package_uses(job, self._bare))
        self._lines, faults = price_uses(uses, self._terms)
        if faults:
            raise JobRefused(faults)
        self._fees = price_fees(job.fees, self._bare.ordered, self._terms)
        drivers = package_drivers(job, self._bare, basis.shop, uses)
        self._touched, untouched = _split(basis.standard, job)
        self._drivers = {op.driver: drivers.get(op.driver, 0) for op in self._touched.operations}
        self._minutes = _minutes(untouched, drivers, job.quantity)
        methods = (*((job.mounting,) if job.mounting else ()), *job.finishing)
        self._roles = tuple({use.role for method in methods for use in method.uses if use.role})
        self._supplied: dict[tuple[Size, tuple[str, ...]], tuple[tuple[Use, ...], list[Line]]] = {}

    def with_moulding(self, moulding: Moulding) -> Choice:
        """The job's totals with this moulding in its innermost frame."""
        try:
            return self._priced(moulding)
        except JobRefused as refused:
            return Choice(moulding, None, (), refused)

    def _priced(self, moulding: Moulding) -> Choice:
        job, basis = self._job, self._basis
        sizes = framed(self._bare, self._frames(moulding), basis.shop)
        weight = self._package_mg + frames_mg(sizes)
        in_frame = tuple(frame_uses(sizes))
        outside = sizes.outside
        supplies, others = self._supplies(outside, weight)
        # In the order of an estimate, since a discount's odd cents go to the first lines.
        lines, faults = price_uses(in_frame, self._terms)
        if faults:
            raise JobRefused(faults)
        lines += self._lines
        lines += others
        labour = price_labour(self._minutes + self._touched_minutes(sizes, in_frame), self._terms)
        if labour is not None:
            lines.append(labour)
        lines += self._fees
        money = job_money(lines, self._terms, job.discounts, fees=bool(self._fees))
        checked = Checked(job, sizes, basis.shop, weight)
        return Choice(
            moulding,
            totals([(lines, money)], basis.price_list.currency, basis.shop.taxation),
            tuple(frame_advisories(checked, (*in_frame, *supplies))),
        )

    def _supplies(self, outside: Size, weight_mg: int) -> tuple[tuple[Use, ...], list[Line]]:
        """What finishing and mounting use, and its lines.

        They follow from the outside and from which hardware carries the weight. Many mouldings
        share both, so each case is worked out once.
        """
        job, shop, catalogue = self._job, self._basis.shop, self._basis.catalogue
        hardware = (hardware_for(role, weight_mg, shop, catalogue) for role in self._roles)
        case = (outside, tuple(item.code for item in hardware if item))
        known = self._supplied.get(case)
        if known is None:
            uses = tuple(supply_uses(job, outside, weight_mg, shop, catalogue))
            lines, faults = price_uses(uses, self._terms)
            if faults:
                raise JobRefused(faults)
            known = self._supplied[case] = (uses, lines)
        return known

    def _frames(self, moulding: Moulding) -> tuple[Frame, ...]:
        job = self._job
        if moulding.floater != (job.presentation == "floater"):
            detail = f"{moulding.code} does not suit a {job.presentation} presentation"
            raise JobRefused([Fault("/frames/0/moulding", "floater_profile", detail)])
        asked = job.frames[0] if job.frames else Frame(moulding)
        supply = asked.supply if asked.supply in moulding.supplies else moulding.supplies[0]
        return (Frame(moulding, supply, asked.sides, asked.fillet), *job.frames[1:])

    def _touched_minutes(self, sizes: Sizes, in_frame: tuple[Use, ...]) -> Fraction:
        drivers = dict(self._drivers)
        for part in (
            frame_drivers(sizes, self._basis.shop, in_frame),
            finishing_drivers(self._job, sizes.outside),
        ):
            for name, units in part.items():
                drivers[name] = drivers.get(name, 0) + units
        standard = self._touched
        if standard.multipliers:
            mouldings = [each.frame.moulding for each in sizes.frames]
            standard = standard.for_job(self._job, mouldings)
        return _minutes(standard, drivers, self._job.quantity)


def _split(standard: LabourStandard, job: Job) -> tuple[LabourStandard, LabourStandard]:
    """The operations whose time may change with the moulding, and the others.

    A multiplier may bear on any operation because of the moulding, so where a shop has multipliers
    all operations are timed for each moulding.
    """
    if standard.multipliers:
        return standard, replace(standard, operations=(), multipliers=())
    touched = FRAME_DRIVERS | {method.driver for method in job.finishing}
    changing = tuple(op for op in standard.operations if op.driver in touched)
    fixed = tuple(op for op in standard.operations if op.driver not in touched)
    return replace(standard, operations=changing), replace(standard, operations=fixed)


def _minutes(standard: LabourStandard, drivers: Mapping[str, int], quantity: int) -> Fraction:
    return bench_minutes(standard, drivers, quantity)
