"""The dates a report covers, split into the shop's days, weeks or months.

A day begins and ends by the shop's local time, so that a sale late in the evening counts on its
local date, and a day on which clocks change has 23 or 25 hours. Weeks begin on Monday (ISO 8601).
The first and the last period are cut off at the requested dates.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal, NamedTuple
from zoneinfo import ZoneInfo

from service.domain.errors import BadValue
from service.domain.quotes.life import shop_day
from service.domain.shop import Shop

Period = Literal["day", "week", "month"]
PERIODS: tuple[Period, ...] = ("day", "week", "month")
MOST_PERIODS = 400
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Span:
    """Periods, and the instant as of which the figures are requested.

    `today` is the shop's day at `as_of`.
    """

    shop: Shop
    period: Period
    buckets: tuple[Bucket, ...]
    as_of: datetime
    today: date

    @property
    def first(self) -> date:
        """The first day."""
        return self.buckets[0].first

    @property
    def last(self) -> date:
        """The last day."""
        return self.buckets[-1].last

    def place(self, day: date) -> int | None:
        """Return the index of the period that contains a day, or None."""
        for n, bucket in enumerate(self.buckets):
            if bucket.first <= day <= bucket.last:
                return n
        return None


def span(shop: Shop, first: date, last: date, period: Period, as_of: datetime) -> Span:
    """Return the periods from one day to another, both inclusive.

    Raises:
        BadValue: the days end before they begin, or there are more periods than a report allows.
    """
    if last < first:
        raise BadValue("the last day is before the first one", "/to")
    buckets = []
    for bucket in _buckets(shop, first, last, period):
        buckets.append(bucket)
        if len(buckets) > MOST_PERIODS:
            raise BadValue(
                f"a report has up to {MOST_PERIODS} periods; ask for fewer days, or longer periods",
                "/period",
            )
    return Span(shop, period, tuple(buckets), as_of, shop_day(shop, as_of))


def _buckets(shop: Shop, first: date, last: date, period: Period) -> Iterator[Bucket]:
    zone = ZoneInfo(shop.time_zone)
    day = first
    while day <= last:
        end = min(_end(day, period), last)
        yield Bucket(day, end, _midnight(day, zone), _midnight(end + _DAY, zone))
        day = end + _DAY


def _end(day: date, period: Period) -> date:
    """Return the last day of the period that contains a day."""
    if period == "day":
        return day
    if period == "week":
        return day + (6 - day.weekday()) * _DAY
    return (day.replace(day=28) + 4 * _DAY).replace(day=1) - _DAY


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    """Return the first instant of a day; if midnight is skipped by a clock change, that instant."""
    return datetime.combine(day, time(), tzinfo=zone).astimezone(UTC)


class Bucket(NamedTuple):
    """One period of a report: its dates in the shop, and its instants (`end` is exclusive)."""

    first: date
    last: date
    start: datetime
    end: datetime
