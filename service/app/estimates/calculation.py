"""Estimating, sweeping and quoting: documents in, worked-out jobs out, quotes stored."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction
from typing import Protocol, TypeVar

from schemas.quotes.records import NewQuote, Paper, Revision
from service.app.keys.access import Principal
from service.app.prices.book import ShopBook, price_list_in_force
from service.domain.errors import Fault, JobRefused
from service.domain.estimates.calculation import (
    Basis,
    Estimate,
    JobEstimate,
    estimate_job,
    total_of,
)
from service.domain.estimates.sweep import Choice, MouldingSweep
from service.domain.jobs.assembly import assemble
from service.domain.jobs.glazing import GlazingChoice
from service.domain.jobs.job import FrameSpec, GlazingSpec, Job, JobSpec
from service.domain.materials.catalogue import Glazing, Moulding
from service.domain.measure.rounding import decimal_text
from service.domain.prices.discounts import PLAIN, Conditions
from service.domain.prices.totals import FEE, Totals
from service.domain.quotes.life import (
    DRAFT,
    ISSUED,
    Customer,
    QuoteRequest,
    SweepRequest,
    deposit_due,
    shop_day,
    valid_until,
)

KindT = TypeVar("KindT", Moulding, Glazing)
TriedT = TypeVar("TriedT")


class QuoteDocuments(Protocol):
    """Writes what a stored quote keeps, as JSON."""

    def result(self, estimate: Estimate) -> bytes:
        """The answer, without costs."""
        ...

    def papers(self, estimate: Estimate) -> tuple[Paper, ...]:
        """The items, prices, times and settings that were used."""
        ...

    def costs(self, estimate: Estimate) -> bytes:
        """Costs, margins and markups."""
        ...

    def customer(self, customer: Customer) -> bytes:
        """Who asked."""
        ...


@dataclass(frozen=True, slots=True)
class GlazingTried:
    """One sheet of glazing tried in a job: its totals, or why it will not do."""

    item: Glazing
    done: JobEstimate | None
    totals: Totals | None
    refused: JobRefused | None = None


def basis_on(book: ShopBook, day: date, currency: str = "") -> Basis:
    """What calculations rest on in a shop on a day.

    Args:
        book: the shop's book.
        day: the day in the shop.
        currency: the currency that prices are asked for in; the shop's own where empty.

    Raises:
        NotPriced: no price list is in force, or no labour standard is in use.
    """
    return Basis(book.shop, book.catalogue, book.labour, price_list_in_force(book, day, currency))


def estimate_request(
    specs: Sequence[JobSpec], basis: Basis, conditions: Conditions = PLAIN
) -> Estimate:
    """Work out all jobs of a document, under its conditions.

    Raises:
        JobRefused: with the faults of every job, pointers from the document's root.
    """
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


def within_limits(done: Estimate, principal: Principal) -> None:
    """Go on only if the discounts of a document are such as this key may give.

    All that is given by hand counts together, against the goods after quantity breaks.

    Raises:
        JobRefused: it is more than the key's scopes allow; every discount is named.
    """
    given = [r for job in done.jobs for r in job.reductions] + list(done.totals.reductions)
    if not given or principal.may("admin"):
        return
    limits = done.basis.shop.discount_limits
    percent = max((li.percent for li in limits if principal.may(li.scope)), default=Fraction(0))
    goods = sum(_goods(job) for job in done.jobs)
    off = sum(reduction.amount.minor for reduction in given)
    if off * 100 > goods * percent:
        detail = f"this key may give up to {_percent(percent)} % off in all"
        places = [
            f"/jobs/{at}/discounts/{n}"
            for at, job in enumerate(done.jobs)
            for n in range(len(job.reductions))
        ]
        places += [f"/discounts/{n}" for n in range(len(done.totals.reductions))]
        raise JobRefused(Fault(place, "discount_limit", detail) for place in places)


def _goods(job: JobEstimate) -> int:
    """A job's lines without fees, after its quantity break, in minor units."""
    goods = sum(line.amount.minor for line in job.lines if line.component != FEE)
    by_hand = sum(reduction.amount.minor for reduction in job.reductions)
    fees = job.subtotal.minor - goods
    return job.subtotal.minor - job.discount.minor + by_hand - fees


def _percent(number: Fraction) -> str:
    """A percent for people."""
    return decimal_text(*number.as_integer_ratio(), 6)


def sweep_mouldings(request: SweepRequest, basis: Basis) -> Iterator[Choice]:
    """The job's totals with each moulding in its innermost frame.

    Raises:
        JobRefused: the rest of the job does not make sense, or an item asked for is no moulding.
    """
    mouldings = _asked(request, basis, Moulding)
    if not mouldings:
        return iter(())
    job = _framed_job(request.job, basis, mouldings)
    with _in_the_job():
        sweep = MouldingSweep(job, basis)
    return _once_each(mouldings, sweep.with_moulding)


def sweep_glazing(request: SweepRequest, basis: Basis) -> Iterator[GlazingTried]:
    """The job's totals with each sheet of glazing.

    Raises:
        JobRefused: the rest of the job does not make sense, or an item asked for is no glazing.
    """
    sheets = _asked(request, basis, Glazing)
    spec = request.job
    spacer = spec.glazing.spacer if spec.glazing else None
    if not sheets:
        return iter(())
    named = replace(spec, glazing=GlazingSpec(sheets[0].code, spacer))
    job = _assembled(named, basis)
    with _in_the_job():
        estimate_job(replace(job, glazing=None), basis)  # what is wrong whatever the glazing
    return _once_each(sheets, lambda sheet: _with_glazing(job, sheet, basis))


def _once_each(items: Sequence[KindT], tried: Callable[[KindT], TriedT]) -> Iterator[TriedT]:
    """Every item tried, one that is named again without working it out again."""
    known: dict[str, TriedT] = {}
    for item in items:
        if item.code not in known:
            known[item.code] = tried(item)
        yield known[item.code]


def _with_glazing(job: Job, sheet: Glazing, basis: Basis) -> GlazingTried:
    spacer = job.glazing or GlazingChoice(sheet)
    choice = GlazingChoice(sheet, spacer.spacer, spacer.spacer_item)
    try:
        done = estimate_job(replace(job, glazing=choice), basis)
    except JobRefused as refused:
        return GlazingTried(sheet, None, None, refused)
    return GlazingTried(sheet, done, total_of([done], basis))


def _asked(request: SweepRequest, basis: Basis, kind: type[KindT]) -> tuple[KindT, ...]:
    """The items to try: those asked for, or all of the kind that are still sold."""
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
    """The job with any suitable moulding in its innermost frame, so that it can be assembled."""
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
    """Faults of the one job, seen from the document of a sweep."""
    try:
        yield
    except JobRefused as refused:
        raise JobRefused(fault.under("/job") for fault in refused.faults()) from refused


def new_quote(
    request: QuoteRequest,
    asked: bytes,
    estimate: Estimate,
    documents: QuoteDocuments,
    principal: Principal,
    now: datetime,
    quote_id: str,
) -> NewQuote:
    """A worked-out document as a quote to be stored, with all it rests on.

    A key for public forms leaves a draft; the shop's own keys issue a quote. Everything is written
    out here, before storage is asked for a number: quotes of one shop take turns only for that.
    """
    shop = estimate.basis.shop
    return NewQuote(
        id=quote_id,
        shop_id=principal.shop_id,
        status=ISSUED if principal.may("counter") else DRAFT,
        reference=request.reference,
        customer=documents.customer(request.customer),
        currency=estimate.basis.price_list.currency.code,
        total_minor=estimate.totals.total.minor,
        deposit_minor=deposit_due(estimate.totals.total, shop).minor,
        created_at=now,
        valid_until=valid_until(shop, shop_day(shop, now)),
        created_by=principal.key_id,
        revision=Revision(
            request=asked,
            result=documents.result(estimate),
            papers=documents.papers(estimate),
            costs=documents.costs(estimate),
        ),
    )
