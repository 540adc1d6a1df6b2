"""Periods of a shop's calendar: every instant of the days asked for is in exactly one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.demo import demo_shop
from service.domain.errors import BadValue
from service.domain.reports import MOST_PERIODS, PERIODS, span

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
# Zones whose clocks change at 2, at midnight, by half an hour, and whose calendar skipped a day.
ZONES = ("America/New_York", "America/Asuncion", "Australia/Lord_Howe", "Pacific/Apia", "UTC")


def of(zone: str, first: date, last: date, period: str = "day"):
    return span(replace(demo_shop(), time_zone=zone), first, last, period, NOW)  # type: ignore[arg-type]


@given(
    st.sampled_from(ZONES),
    st.dates(date(2010, 1, 1), date(2030, 1, 1)),
    st.integers(0, 300),
    st.sampled_from(PERIODS),
)
def test_periods_follow_each_other_without_gap_or_overlap(zone, first, many, period) -> None:
    last = first + timedelta(days=many)
    made = of(zone, first, last, period)
    assert (made.first, made.last) == (first, last)
    for before, after in zip(made.buckets, made.buckets[1:], strict=False):
        assert before.end == after.start
        assert before.last + timedelta(days=1) == after.first
        assert after.first.weekday() == 0 or period != "week"
        assert after.first.day == 1 or period != "month"
    for bucket in made.buckets:
        local = bucket.start.astimezone(ZoneInfo(zone))
        assert local.date() in (bucket.first, bucket.first + timedelta(days=1))  # a skipped day
        assert made.place(bucket.first) == made.place(bucket.last)
    assert made.place(last + timedelta(days=1)) is None


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-08", 23), ("2026-11-01", 25), ("2026-11-25", 24)]
)
def test_a_day_on_which_clocks_change_is_longer_or_shorter(day: str, hours: int) -> None:
    # The dates of the change in 2026: the second Sunday of March and the first of November, by the
    # Energy Policy Act of 2005, s. 110 (value from memory; zoneinfo has it too).
    (bucket,) = of("America/New_York", date.fromisoformat(day), date.fromisoformat(day)).buckets
    assert bucket.end - bucket.start == timedelta(hours=hours)


def test_a_report_has_an_end() -> None:
    first = date(2026, 1, 1)
    of("UTC", first, first + timedelta(days=MOST_PERIODS - 1))
    with pytest.raises(BadValue, match="up to 400 periods"):
        of("UTC", first, first + timedelta(days=MOST_PERIODS))
    with pytest.raises(BadValue, match="before the first"):
        of("UTC", first, first - timedelta(days=1))
