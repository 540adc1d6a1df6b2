"""The first day that can be promised, held to a bench that works in the order of promised days.

That no order keeps more promises than that of the due days is J. R. Jackson's rule (1955); the
bench below is worked day by day, which shares nothing with the sums that are tested.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.quotes.promise import NoPromise, Promised, Wish, first_day, lead_days
from service.domain.shop import Ordering
from tests.proofs import examples

WEEK = Ordering(
    working_minutes=(420, 420, 420, 420, 420, 0, 0),
    closed_days=(date(2026, 12, 25),),
    lead_days=5,
    rush_fee="rush",
    rush_lead_days=1,
)
WEDNESDAY = date(2026, 11, 25)


def late(queue: list[tuple[date, Fraction]]) -> set[int]:
    """The places in the queue whose work is not done on its day, worked by promised day."""
    order = sorted(range(len(queue)), key=lambda place: (queue[place][0], place))
    left = [queue[place][1] for place in order]
    found, day = set(), WEDNESDAY
    while any(left):
        day += timedelta(days=1)
        closed = day in WEEK.closed_days
        minutes = Fraction(0 if closed else WEEK.working_minutes[day.weekday()])
        for at, place in enumerate(order):
            taken = min(minutes, left[at])
            left[at], minutes = left[at] - taken, minutes - taken
            if left[at] and queue[place][0] <= day:
                found.add(place)
    return found


@given(
    st.lists(
        st.tuples(st.integers(1, 30), st.integers(1, 900)).map(
            lambda pair: (WEDNESDAY + timedelta(days=pair[0]), Fraction(pair[1]))
        ),
        max_size=8,
    ),
    st.integers(1, 900).map(Fraction),
)
@settings(max_examples=examples(2000), deadline=None)
def test_the_day_breaks_no_promise_and_no_day_before_it_would_do(
    queue: list[tuple[date, Fraction]], own: Fraction
) -> None:
    kept = list(queue)
    while late(kept):  # a bench that keeps its promises so far
        kept.pop(min(late(kept)))
    first = first_day(WEDNESDAY, own, kept, WEEK, lead=0)
    assert not late([*kept, (first, own)])
    for days in range(1, (first - WEDNESDAY).days):
        assert late([*kept, (WEDNESDAY + timedelta(days=days), own)])


def test_material_takes_its_days_and_rush_fewer() -> None:
    """Wednesday 25 November and 5 days: work begins on Tuesday 1 December; with 1, on Friday."""
    assert lead_days(WEEK, Wish()) == 5
    assert lead_days(WEEK, Wish(rush=True)) == 1
    usual = first_day(WEDNESDAY, Fraction(100), (), WEEK, lead=5)
    rush = first_day(WEDNESDAY, Fraction(100), (), WEEK, lead=1)
    assert (usual, rush) == (date(2026, 12, 1), date(2026, 11, 27))


def test_work_without_a_day_gives_way_and_overdue_work_does_not() -> None:
    undated: list[Promised] = [(None, Fraction(4200))]
    overdue: list[Promised] = [(date(2026, 11, 20), Fraction(420))]
    assert first_day(WEDNESDAY, Fraction(420), undated, WEEK, lead=0) == date(2026, 11, 26)
    assert first_day(WEDNESDAY, Fraction(420), overdue, WEEK, lead=0) == date(2026, 11, 27)


def test_more_than_ten_years_of_work_is_no_promise() -> None:
    with pytest.raises(NoPromise):
        first_day(WEDNESDAY, Fraction(10**7), (), WEEK, lead=0)
