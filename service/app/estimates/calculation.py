"""Estimating, sweeping and quoting: from documents to calculated jobs and stored quotes."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Protocol

from schemas.quotes.figures.documents import Worked
from schemas.quotes.records import Paper
from service.app.keys.access import Principal
from service.app.prices.book import price_list_in_force
from service.domain.errors import Fault, JobRefused
from service.domain.estimates.calculation import Basis, Estimate, JobEstimate
from service.domain.measure.rounding import decimal_text
from service.domain.prices.book import ShopBook
from service.domain.prices.discounts import Reduction
from service.domain.prices.totals import SET_APART
from service.domain.quotes.life import Customer, QuoteRequest
from service.domain.shop import Ordering


class QuoteDocuments(Protocol):
    """Writes the documents of a stored quote, as JSON."""

    def result(self, estimate: Estimate) -> bytes:
        """Return the answer, without costs."""
        ...

    def papers(self, estimate: Estimate) -> tuple[Paper, ...]:
        """Return the items, prices, times and settings used."""
        ...

    def costs(self, worked: Worked) -> bytes:
        """Return costs, margins and markups."""
        ...

    def figures(self, worked: Worked) -> bytes:
        """Return every figure exactly."""
        ...

    def customer(self, customer: Customer) -> bytes:
        """Return the customer."""
        ...


def basis_on(book: ShopBook, day: date, currency: str = "") -> Basis:
    """Return the basis of calculations in a shop on a day.

    Args:
        book: the shop's book.
        day: the day in the shop.
        currency: the currency of the prices asked for; if empty, the shop's own.

    Raises:
        NotPriced: no price list is in force, or no labour standard is in use.
    """
    return Basis(book.shop, book.catalogue, book.labour, price_list_in_force(book, day, currency))


def within_limits(done: Estimate, principal: Principal) -> None:
    """Check that a document asks for no more than its key may give.

    All discounts by hand count together, against the goods after quantity breaks; a coupon does not
    count. A percentage counts as asked for, not as the amount that it rounds to: 15 % is never more
    than 15 %.

    Raises:
        JobRefused: they exceed what the key's scopes allow, and every discount is named; or a
            public form's key sets a stop aside, or a price.
    """
    _no_public_overrides(done, principal)
    _no_price_by_hand(done, principal)
    own = [each for each in done.totals.reductions if not each.discount.coupon]
    given = [r for job in done.jobs for r in job.reductions] + own
    if not given or principal.may("admin"):
        return
    limits = done.basis.shop.discount_limits
    percent = max((li.percent for li in limits if principal.may(li.scope)), default=Fraction(0))
    goods = sum(_goods(job) for job in done.jobs)
    off = sum((_exact(reduction) for reduction in given), Fraction(0))
    if off * 100 > goods * percent:
        detail = (
            f"at most {_percent(percent)} % may be taken off here, all discounts together"
            if percent
            else "this key may give no discount by hand"
        )
        places = [
            f"/jobs/{at}/discounts/{n}"
            for at, job in enumerate(done.jobs)
            for n in range(len(job.reductions))
        ]
        places += [f"/discounts/{n}" for n in range(len(own))]
        raise JobRefused(Fault(place, "discount_limit", detail) for place in places)


def _no_price_by_hand(done: Estimate, principal: Principal) -> None:
    if principal.may("counter"):
        return
    places = [("", done.conditions.lines)]
    places += [(f"/jobs/{at}", job.job.lines) for at, job in enumerate(done.jobs)]
    detail = "this key may ask for the shop's services, and set no price of its own"
    faults = [
        Fault(f"{where}/lines/{at}/unit_price", "price_by_hand", detail)
        for where, lines in places
        for at, line in enumerate(lines)
        if not line.service
    ]
    if faults:
        raise JobRefused(faults)


def check_rush(request: QuoteRequest, ordering: Ordering) -> None:
    """Check that a document which asks for the rush fee says by which day it is wanted.

    Raises:
        JobRefused: it does not: a rush fee is paid for a promise.
    """
    asked = ordering.rush_fee and any(ordering.rush_fee in job.fees for job in request.jobs)
    if asked and request.wanted_by is None:
        told = "the rush fee is paid for a day: say by which one the work is wanted"
        raise JobRefused([Fault("/wanted_by", "missing_field", told)])


def _no_public_overrides(done: Estimate, principal: Principal) -> None:
    faults = [
        Fault(f"/jobs/{at}/overrides", "not_allowed", "only the shop's own keys set a stop aside")
        for at, job in enumerate(done.jobs)
        if job.job.overrides and not principal.may("counter")
    ]
    if done.conditions.level and not principal.may("counter"):
        told = "only the shop's own keys ask for a price level"
        faults.append(Fault("/price_level", "not_allowed", told))
    if faults:
        raise JobRefused(faults)


def _exact(reduction: Reduction) -> Fraction:
    """Return what a discount takes off, before rounding, in minor units."""
    percent = reduction.discount.percent
    if percent is None:
        return Fraction(reduction.amount.minor)
    return reduction.base.minor * percent / 100


def _goods(job: JobEstimate) -> int:
    """Return the total of a job's goods after its quantity break, in minor units."""
    goods = sum(line.amount.minor for line in job.lines if line.component not in SET_APART)
    by_hand = sum(reduction.amount.minor for reduction in job.reductions)
    fees = job.subtotal.minor - goods
    return job.subtotal.minor - job.discount.minor + by_hand - fees


def _percent(number: Fraction) -> str:
    """Return a percentage as text."""
    return decimal_text(*number.as_integer_ratio(), 6)
