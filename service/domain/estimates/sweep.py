"""One job priced with many mouldings or sheets of glazing, without redoing the rest of the job.

Everything that the moulding does not affect (mats, glazing, boards and their bench time) is
calculated once. The rest goes through the same functions as an estimate, so that a sweep and an
estimate of the same job cannot differ; a test compares them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from itertools import chain
from typing import Literal, NamedTuple, TypeVar

from service.domain.errors import Fault, JobRefused
from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job, total_of
from service.domain.jobs.advice.advisory import Advisory, Checked
from service.domain.jobs.advice.checks import frame_advisories
from service.domain.jobs.assembly import assemble, not_supplied
from service.domain.jobs.depth import stack_depth
from service.domain.jobs.frame import Frame
from service.domain.jobs.job import FrameSpec, GlazingChoice, GlazingSpec, Job, JobSpec
from service.domain.jobs.sizes import Sizes, framed, work_out
from service.domain.jobs.takeoff import (
    frame_uses,
    hardware_for,
    joining_uses,
    package_uses,
    supply_uses,
)
from service.domain.jobs.use import Use
from service.domain.jobs.weight import frames_mg, package_mg
from service.domain.jobs.work import NEW
from service.domain.labour.drivers import (
    FRAME_DRIVERS,
    finishing_drivers,
    frame_drivers,
    package_drivers,
)
from service.domain.labour.standard import LabourStandard, bench_minutes
from service.domain.materials.catalogue import Glazing, Moulding
from service.domain.measure.length import Length, Size
from service.domain.prices.asked import price_asked
from service.domain.prices.charging import job_ending, order_lines
from service.domain.prices.fees import price_fees
from service.domain.prices.lines import Line, price_labour, price_uses
from service.domain.prices.totals import (
    JobMoney,
    Totals,
    job_money,
    own_lines,
    totals,
    undiscounted,
)
from service.domain.shop import Charging
from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Choice:
    """One moulding tried: its totals and advisories, or the reason why it was refused."""

    moulding: Moulding
    totals: Totals | None
    advisories: tuple[Advisory, ...]
    refused: JobRefused | None = None


class _Priced(NamedTuple):
    """Lines that do not change, and the sum of each of their tax categories, in minor units."""

    lines: list[Line]
    bases: dict[str, int]


def _bases(lines: Iterable[Line]) -> dict[str, int]:
    found: dict[str, int] = {}
    for line in lines:
        category = line.rule.tax_category
        found[category] = found.get(category, 0) + line.amount.minor
    return found


_Case = tuple[Size, tuple[Length, Length], tuple[str, ...]]
"""An outside size, the face and rabbet width of the outer rails, and the hardware."""


class MouldingSweep:
    """A job with its innermost frame left open, ready to be priced with any moulding.

    Raises:
        JobRefused: the rest of the job is invalid or has no price.
    """

    __slots__ = (
        "_bare",
        "_basis",
        "_drivers",
        "_fees",
        "_job",
        "_minutes",
        "_package_mg",
        "_plain",
        "_priced_once",
        "_roles",
        "_supplied",
        "_terms",
        "_touched",
    )

    def __init__(self, job: Job, basis: Basis) -> None:
        self._job, self._basis, self._terms = job, basis, basis.terms(job.quantity)
        # Removing the frames also removed the rabbet fillet, which still counts in the stack.
        bare = work_out(replace(job, frames=()), basis.shop)
        self._bare = replace(bare, stack_depth=stack_depth(job))
        self._package_mg = package_mg(job, self._bare)
        uses = tuple(package_uses(job, self._bare, basis.shop))
        lines, faults = price_uses(uses, self._terms)
        if faults:
            raise JobRefused(faults)
        self._priced_once = _Priced(lines, _bases(lines))
        self._fees = price_fees(job.fees, self._bare.ordered, self._terms)
        self._fees += price_asked(job.lines, basis.price_list)
        drivers = basis.standard.timed(package_drivers(job, self._bare, basis.shop, uses))
        self._touched, untouched = _split(basis.standard, job)
        self._drivers = {op.driver: drivers.get(op.driver, 0) for op in self._touched.operations}
        self._minutes = bench_minutes(untouched, drivers, job.quantity)
        methods = (*((job.mounting,) if job.mounting else ()), *job.finishing)
        self._roles = tuple({use.role for method in methods for use in method.uses if use.role})
        self._supplied: dict[_Case, tuple[tuple[Use, ...], _Priced]] = {}
        by_hand = job.discounts or self._fees or basis.price_list.percent_off(job.quantity)
        plain_tax = basis.shop.taxation.rounded == "invoice"
        self._plain = not by_hand and plain_tax and basis.shop.charging == Charging()

    def with_moulding(self, moulding: Moulding) -> Choice:
        """Return the job's totals with this moulding in its innermost frame."""
        try:
            return self._priced(moulding)
        except JobRefused as refused:
            return Choice(moulding, None, (), refused)

    def _priced(self, moulding: Moulding) -> Choice:
        basis, frames = self._basis, self._frames(moulding)
        job = replace(self._job, frames=frames)
        sizes = framed(self._bare, frames, basis.shop)
        weight = self._package_mg + frames_mg(sizes)
        in_frame = tuple(chain(frame_uses(sizes), joining_uses(sizes, basis.shop, basis.catalogue)))
        supplies, others = self._supplies(job, sizes, weight)
        lines, faults = price_uses(in_frame, self._terms)
        if faults:
            raise JobRefused(faults)
        labour = price_labour(self._minutes + self._touched_minutes(sizes, in_frame), self._terms)
        last = [] if labour is None else [labour]
        checked = Checked(job, sizes, basis.shop, weight, basis.catalogue)
        return Choice(
            moulding,
            self._totals(lines, others, last),
            tuple(frame_advisories(checked, (*in_frame, *supplies))),
        )

    def _totals(self, frame: list[Line], others: _Priced, labour: list[Line]) -> Totals:
        """Return the totals of all lines, in the order of an estimate.

        A discount's odd cents go to the first lines, and some taxes are rounded per line. If
        neither applies, the fixed lines are summed only once.
        """
        basis = self._basis
        currency, taxation = basis.price_list.currency, basis.shop.taxation
        if self._plain:
            bases = _bases(frame)
            for more in (self._priced_once.bases, others.bases, _bases(labour)):
                for category, minor in more.items():
                    bases[category] = bases.get(category, 0) + minor
            return undiscounted(bases, currency, taxation)
        lines = [*frame, *self._priced_once.lines, *others.lines, *labour, *self._fees]
        ending = job_ending(lines, basis.shop, currency)
        lines += ending
        money = job_money(lines, self._terms, self._job.discounts, fees=bool(self._fees or ending))
        pairs: list[tuple[Sequence[Line], JobMoney]] = [(lines, money)]
        added = order_lines(pairs, basis.shop, currency)
        if added:
            pairs.append(own_lines(added, currency))
        return replace(totals(pairs, currency, taxation), lines=tuple(added))

    def _supplies(self, job: Job, sizes: Sizes, weight_mg: int) -> tuple[tuple[Use, ...], _Priced]:
        """Return what finishing and mounting use, and its lines.

        Of what a moulding changes they depend on the outside size, on the rails that the rings sit
        on, and on which hardware carries the weight. Many mouldings share these, so each case is
        calculated once.
        """
        shop, catalogue = self._basis.shop, self._basis.catalogue
        rails = job.frames[-1].moulding
        hardware = (hardware_for(role, weight_mg, shop, catalogue) for role in self._roles)
        on = (rails.face_width, rails.rabbet_width)
        case = (sizes.outside, on, tuple(item.code for item in hardware if item))
        known = self._supplied.get(case)
        if known is None:
            uses = tuple(supply_uses(job, sizes, weight_mg, shop, catalogue))
            lines, faults = price_uses(uses, self._terms)
            if faults:
                raise JobRefused(faults)
            known = self._supplied[case] = (uses, _Priced(lines, _bases(lines)))
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
        return bench_minutes(standard, drivers, self._job.quantity)


def _split(standard: LabourStandard, job: Job) -> tuple[LabourStandard, LabourStandard]:
    """Return the operations whose time may change with the moulding, and the others.

    A multiplier can apply to any operation because of the moulding, so in a shop with multipliers
    all operations are timed for each moulding.
    """
    if standard.multipliers:
        return standard, replace(standard, operations=(), multipliers=())
    touched = FRAME_DRIVERS | {method.driver for method in job.finishing}
    changing = tuple(op for op in standard.operations if op.driver in touched)
    fixed = tuple(op for op in standard.operations if op.driver not in touched)
    return replace(standard, operations=changing), replace(standard, operations=fixed)


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRequest:
    """One job and what to vary: "mouldings" or "glazing"; no items means all that are sold."""

    job: JobSpec
    over: Literal["mouldings", "glazing"]
    items: tuple[str, ...] = ()


KindT = TypeVar("KindT", Moulding, Glazing)
TriedT = TypeVar("TriedT")


@dataclass(frozen=True, slots=True)
class GlazingTried:
    """One sheet of glazing tried in a job: its totals, or the reason why it was refused."""

    item: Glazing
    done: JobEstimate | None
    totals: Totals | None
    refused: JobRefused | None = None


def sweep_mouldings(request: SweepRequest, basis: Basis) -> Iterator[Choice]:
    """Return an iterator of the job's totals with each moulding in its innermost frame.

    Raises:
        JobRefused: the rest of the job is invalid, or a requested item is not a moulding.
    """
    if request.job.work != NEW:
        detail = "mouldings are tried on new framing alone"
        raise JobRefused([Fault("/job/work", "not_for_work", detail)])
    mouldings = _asked(request, basis, Moulding)
    if not mouldings:
        return iter(())
    job = _framed_job(request.job, basis, mouldings)
    with _in_the_job():
        sweep = MouldingSweep(job, basis)
    supply = request.job.frames[0].supply if request.job.frames else None

    def tried(moulding: Moulding) -> Choice:
        if supply is None or supply in moulding.supplies:
            return sweep.with_moulding(moulding)
        return Choice(moulding, None, (), JobRefused([not_supplied(moulding, "/frames/0")]))

    return _once_each(mouldings, tried)


def sweep_glazing(request: SweepRequest, basis: Basis) -> Iterator[GlazingTried]:
    """Return an iterator of the job's totals with each sheet of glazing.

    Raises:
        JobRefused: the rest of the job is invalid, or a requested item is not glazing.
    """
    sheets = _asked(request, basis, Glazing)
    spec = request.job
    if not sheets:
        return iter(())
    asked = spec.glazing or GlazingSpec(sheets[0].code)
    named = replace(spec, glazing=replace(asked, sheet=sheets[0].code))
    job = _assembled(named, basis)
    with _in_the_job():
        estimate_job(replace(job, glazing=None), basis)  # faults that do not depend on the glazing
    return _once_each(sheets, lambda sheet: _with_glazing(job, sheet, basis))


def _once_each(items: Sequence[KindT], tried: Callable[[KindT], TriedT]) -> Iterator[TriedT]:
    """Yield the result for every item, calculating a repeated item only once."""
    known: dict[str, TriedT] = {}
    for item in items:
        if item.code not in known:
            known[item.code] = tried(item)
        yield known[item.code]


def _with_glazing(job: Job, sheet: Glazing, basis: Basis) -> GlazingTried:
    choice = replace(job.glazing or GlazingChoice(sheet), sheet=sheet)
    try:
        done = estimate_job(replace(job, glazing=choice), basis)
    except JobRefused as refused:
        return GlazingTried(sheet, None, None, refused)
    return GlazingTried(sheet, done, total_of([done], basis))


def _asked(request: SweepRequest, basis: Basis, kind: type[KindT]) -> tuple[KindT, ...]:
    """Return the items to try: those requested, or all of the kind that are still sold."""
    if not request.items:
        return tuple(item for item in basis.catalogue.of_type(kind) if not item.discontinued)
    found: list[KindT] = []
    faults: list[Fault] = []
    for position, code in enumerate(request.items):
        item = basis.catalogue.items.get(code)
        if isinstance(item, kind) and not item.discontinued:
            found.append(item)
        else:
            detail = f"the catalogue has no {code} for sale among its {request.over}"
            faults.append(Fault(f"/items/{position}", "unknown_item", detail))
    if faults:
        raise JobRefused(faults)
    return tuple(found)


def _framed_job(spec: JobSpec, basis: Basis, mouldings: Sequence[Moulding]) -> Job:
    """Return the job with a suitable moulding in its innermost frame, so that it can be built."""
    floater = spec.presentation == "floater"
    stand_in = next((m for m in mouldings if m.floater == floater), mouldings[0])
    asked = spec.frames[0] if spec.frames else FrameSpec("")
    supply = asked.supply if asked.supply in stand_in.supplies else None
    first = replace(asked, moulding=stand_in.code, supply=supply)
    job = _assembled(replace(spec, frames=(first, *spec.frames[1:])), basis)
    if asked.supply is None:
        return job
    return replace(job, frames=(replace(job.frames[0], supply=asked.supply), *job.frames[1:]))


def _assembled(spec: JobSpec, basis: Basis) -> Job:
    with _in_the_job():
        return assemble(spec, basis.shop, basis.catalogue)


@contextmanager
def _in_the_job() -> Iterator[None]:
    """Re-raise faults of the job with pointers relative to the sweep's document."""
    try:
        yield
    except JobRefused as refused:
        raise JobRefused(fault.under("/job") for fault in refused.faults()) from refused
