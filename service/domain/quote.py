"""What a customer asks a price for, and what a quote may be in its life."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from service.domain.job import JobSpec
from service.domain.shop import Shop

DRAFT = "draft"
"""Left by a public form; nobody in the shop has looked at it yet."""
ISSUED = "issued"
"""Given to the customer by the shop."""
STATUSES = (DRAFT, ISSUED)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRequest:
    """One job and what to try in it: "mouldings" or "glazing"; no items means all that are sold."""

    job: JobSpec
    over: str
    items: tuple[str, ...] = ()


def shop_day(shop: Shop, now: datetime) -> date:
    """The date in the shop at an instant."""
    return now.astimezone(ZoneInfo(shop.time_zone)).date()


def valid_until(shop: Shop, day: date) -> date:
    """The last day on which a quote made on `day` holds."""
    return day + timedelta(days=shop.quote_valid_days)
