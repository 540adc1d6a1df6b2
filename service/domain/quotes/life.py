"""The content of a quote, and its life cycle.

    draft -> issued -> accepted -> in_work -> done

or declined, expired, withdrawn on the way. `QUOTE_LIFE` is its only transition table. Work begins
with the quote's first ticket and completes with its last one; only the bench triggers these.

A quote expires when the shop's day is past `valid_until`, and only then: the state is derived from
the two dates on each read and not stored. So no nightly job is needed to refuse an old price, two
nodes cannot disagree, and midnight causes no writes. Accept, issue and decline use the derived
state.
"""

from __future__ import annotations

from dataclasses import field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from service.domain.jobs.job import PLAIN, Conditions, JobSpec
from service.domain.measure.money import Money
from service.domain.measure.rounding import half_up
from service.domain.shop import Shop
from service.domain.states import Life
from service.domain.value import dataclass

DRAFT = "draft"
"""Created by a public form; not yet reviewed by the shop."""
ISSUED = "issued"
"""Given to the customer by the shop."""
ACCEPTED = "accepted"
"""Accepted by the customer; each of its jobs has a ticket, none of which is started."""
IN_WORK = "in_work"
"""The bench has started one of its tickets."""
DONE = "done"
"""All its tickets are done."""
DECLINED = "declined"
"""The customer does not want it."""
EXPIRED = "expired"
"""Its last day has passed without acceptance."""
WITHDRAWN = "withdrawn"
"""The shop withdrew it before any work began."""

QUOTE_LIFE = Life(
    "quote",
    {
        DRAFT: {"issue": ISSUED, "revise": DRAFT, "withdraw": WITHDRAWN, "expire": EXPIRED},
        ISSUED: {
            "accept": ACCEPTED,
            "decline": DECLINED,
            "revise": ISSUED,
            "withdraw": WITHDRAWN,
            "expire": EXPIRED,
        },
        # A revision from here on is a change of order: tickets are kept, made and given up.
        ACCEPTED: {"begin": IN_WORK, "revise": ACCEPTED, "withdraw": WITHDRAWN},
        # Material has been cut: a change of order says what of it is lost.
        IN_WORK: {"complete": DONE, "revise": IN_WORK},
        DONE: {},
        # A returning customer gets current prices: a new revision, issued again.
        DECLINED: {"revise": ISSUED},
        EXPIRED: {"revise": ISSUED},
        WITHDRAWN: {},
    },
)
STATUSES = QUOTE_LIFE.states
OPEN = (DRAFT, ISSUED)
"""The states that expire at the end of a day; an expired quote keeps one of them in storage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Customer:
    """The customer; stored with the quote and never needed for a calculation.

    `id` names the customer's record in the shop, if it has one.
    """

    name: str = ""
    email: str = ""
    telephone: str = ""
    note: str = ""
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteRequest:
    """A whole document: one or more jobs, their customer, and the day that it is wanted by.

    `customer_id` names the customer's record in the shop, and `coupon` a coupon, if it has one.
    """

    jobs: tuple[JobSpec, ...]
    reference: str = ""
    customer: Customer = field(default_factory=Customer)
    customer_id: str = ""
    currency: str = ""
    conditions: Conditions = PLAIN
    wanted_by: date | None = None
    coupon: str = ""


def shop_day(shop: Shop, now: datetime) -> date:
    """Return the date in the shop's time zone at an instant."""
    return now.astimezone(ZoneInfo(shop.time_zone)).date()


def valid_until(shop: Shop, day: date) -> date:
    """Return the last day on which a quote made on `day` is valid."""
    return day + timedelta(days=shop.quote_valid_days)


def standing(status: str, last_day: date, today: date) -> str:
    """Return a quote's state on a day of the shop: the stored one, unless it has expired."""
    if status in OPEN and today > last_day:
        return QUOTE_LIFE.after(status, "expire")
    return status


def deposit_due(total: Money, shop: Shop) -> Money:
    """Return the deposit due on acceptance: the shop's percentage of the total, half up."""
    percent = shop.ordering.deposit_percent
    return Money(
        half_up(total.minor * percent.numerator, 100 * percent.denominator), total.currency
    )
