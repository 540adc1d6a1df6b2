"""The promised day, against days counted one minute at a time and against a week worked by hand."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadValue
from service.domain.quotes.promise import FURTHEST_DAYS, NoPromise, promise
from service.domain.shop import Ordering

WEEK = (420, 420, 420, 420, 300, 0, 0)
THURSDAY = date(2026, 11, 26)  # a Thursday by any calendar; weekday() is ISO 8601's, Monday 0


@pytest.mark.parametrize(
    ("waiting", "own", "ordering", "day"),
    [
        # Friday has 300 minutes, Monday 420.
        (0, 300, Ordering(working_minutes=WEEK), "2026-11-27"),
        (0, 301, Ordering(working_minutes=WEEK), "2026-11-30"),
        (300, 420, Ordering(working_minutes=WEEK), "2026-11-30"),
        (300, 421, Ordering(working_minutes=WEEK), "2026-12-01"),
        (0, 0, Ordering(working_minutes=WEEK), "2026-11-27"),
        # The Friday is closed.
        (
            0,
            100,
            Ordering(working_minutes=WEEK, closed_days=(date(2026, 11, 27),)),
            "2026-11-30",
        ),
        # Three days for material: work begins on the Monday.
        (0, 100, Ordering(working_minutes=WEEK, lead_days=3), "2026-11-30"),
        # Whole weeks: 1980 minutes each, the first one from Friday on.
        (10 * 1_980, 0, Ordering(working_minutes=WEEK), "2027-02-04"),
    ],
)
def test_weeks_worked_by_hand(waiting: int, own: int, ordering: Ordering, day: str) -> None:
    found = promise(THURSDAY, Fraction(waiting), Fraction(own), ordering)
    assert found.isoformat() == day


WEEKS = st.tuples(*[st.sampled_from([0, 7, 30])] * 7).filter(any)
DAYS = st.dates(date(2026, 1, 1), date(2030, 1, 1))


@given(
    DAYS,
    st.integers(0, 500),
    st.integers(0, 500),
    WEEKS,
    st.sets(st.integers(0, 40), max_size=20),
    st.integers(0, 9),
)
def test_a_minute_at_a_time(
    day: date, waiting: int, own: int, week: tuple[int, ...], shut: set[int], lead: int
) -> None:
    closed = tuple(sorted(day + timedelta(days=n) for n in shut))
    ordering = Ordering(working_minutes=week, closed_days=closed, lead_days=lead)
    at = day + timedelta(days=lead + 1)
    minutes: list[date] = []
    while len(minutes) < max(waiting + own, 1):
        if at not in closed:
            minutes += [at] * week[at.weekday()]
        at += timedelta(days=1)
    assert (
        promise(day, Fraction(waiting), Fraction(own), ordering)
        == minutes[max(waiting + own, 1) - 1]
    )


@given(st.fractions(0, 5_000), st.fractions(0, 5_000))
def test_more_work_is_never_ready_earlier(some: Fraction, more: Fraction) -> None:
    ordering = Ordering(working_minutes=WEEK)
    early = promise(THURSDAY, some, Fraction(1), ordering)
    assert THURSDAY < early <= promise(THURSDAY, some + more, Fraction(1), ordering)


def test_nobody_is_promised_a_day_in_ten_years() -> None:
    ordering = Ordering(working_minutes=(1, 0, 0, 0, 0, 0, 0))
    with pytest.raises(NoPromise):
        promise(THURSDAY, Fraction(FURTHEST_DAYS), Fraction(1), ordering)


@pytest.mark.parametrize(
    "wrong",
    [
        {"working_minutes": (0,) * 7},
        {"working_minutes": (420,) * 6},
        {"working_minutes": (1_441, *WEEK[1:])},
        {"deposit_percent": Fraction(101)},
        {"lead_days": -1},
    ],
)
def test_a_week_that_nobody_works_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(BadValue):
        Ordering(**wrong)  # type: ignore[arg-type]
