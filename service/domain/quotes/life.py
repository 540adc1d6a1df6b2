"""What a customer asks a price for, and what a quote may be in its life.

    draft -> issued -> accepted -> in_work -> done

or declined, expired, withdrawn on the way. `QUOTE_LIFE` is the one table of it. It is begun with
its first ticket and complete with its last one: nobody asks for that but the bench.

A quote expires when the shop's day is past `valid_until`, and by nothing else: the state is worked
out from the two dates whenever it is looked at and stored nowhere. So no nightly run has to happen
for an old price to be refused, two nodes cannot disagree on it, and the turn of a day writes
nothing. Whoever accepts, issues or declines is held to the state so worked out.
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
"""Left by a public form; nobody in the shop has looked at it yet."""
ISSUED = "issued"
"""Given to the customer by the shop."""
ACCEPTED = "accepted"
"""Taken by the customer; each of its jobs has a ticket, none of which is begun."""
IN_WORK = "in_work"
"""The bench has begun one of its tickets."""
DONE = "done"
"""All its tickets are done."""
DECLINED = "declined"
"""The customer does not want it."""
EXPIRED = "expired"
"""Its last day is past; it was never taken."""
WITHDRAWN = "withdrawn"
"""The shop took it back, before any work was begun."""

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
        # Tickets are made of the accepted figures, so that from here on nothing is revised: a
        # change of mind withdraws the quote and begins another.
        ACCEPTED: {"begin": IN_WORK, "withdraw": WITHDRAWN},
        # Material has been cut: what is begun is finished, or settled outside this table.
        IN_WORK: {"complete": DONE},
        DONE: {},
        # A customer who comes back gets the prices of the day: a new revision, given anew.
        DECLINED: {"revise": ISSUED},
        EXPIRED: {"revise": ISSUED},
        WITHDRAWN: {},
    },
)
STATUSES = QUOTE_LIFE.states
OPEN = (DRAFT, ISSUED)
"""The states that the turn of a day can end; only they are stored for a quote that has expired."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Customer:
    """Who asks; kept with the quote and never needed for a calculation."""

    name: str = ""
    email: str = ""
    telephone: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteRequest:
    """A whole document: one or more jobs, and whose they are."""

    jobs: tuple[JobSpec, ...]
    reference: str = ""
    customer: Customer = field(default_factory=Customer)
    currency: str = ""
    conditions: Conditions = PLAIN


def shop_day(shop: Shop, now: datetime) -> date:
    """The date in the shop at an instant."""
    return now.astimezone(ZoneInfo(shop.time_zone)).date()


def valid_until(shop: Shop, day: date) -> date:
    """The last day on which a quote made on `day` holds."""
    return day + timedelta(days=shop.quote_valid_days)


def standing(status: str, last_day: date, today: date) -> str:
    """The state of a quote on a day of the shop: the stored one, unless its last day is past."""
    if status in OPEN and today > last_day:
        return QUOTE_LIFE.after(status, "expire")
    return status


def deposit_due(total: Money, shop: Shop) -> Money:
    """What the customer pays on accepting: the shop's percentage of the total, half up."""
    percent = shop.ordering.deposit_percent
    return Money(
        half_up(total.minor * percent.numerator, 100 * percent.denominator), total.currency
    )
