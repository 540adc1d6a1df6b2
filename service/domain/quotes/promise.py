"""The ready date of a job, from the bench's backlog and working days.

    minutes = those of every ticket that is not done + those of this job
    work begins on the day after the acceptance, and after the shop's days for ordering material
    the promise is the first working day by whose end so many minutes have been worked

The rest of the day of acceptance is not counted: it may be five to six. Common practice, no
published source; the shop's own minutes, closed days and lead decide.

>>> week = Ordering(working_minutes=(420, 420, 420, 420, 420, 0, 0))
>>> friday = date(2026, 11, 27)
>>> promise(friday, Fraction(0), Fraction(100), week).isoformat()
'2026-11-30'
>>> promise(friday, Fraction(400), Fraction(100), week).isoformat()
'2026-12-01'
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from fractions import Fraction

from service.domain.errors import Conflict
from service.domain.shop import Ordering
from service.domain.value import dataclass

FURTHEST_DAYS = 3_660
"""A promise more than ten years away is not credible."""
_DAY = timedelta(days=1)
_TOO_MUCH = "the bench has work for more than ten years; no day can be promised"


Promised = tuple[date | None, Fraction]
"""A ticket that is not done: the day that it is promised for, and its minutes."""


class NoPromise(Conflict):
    """The bench has more than ten years of work."""


@dataclass(frozen=True, slots=True)
class Wish:
    """The day by which work is wanted; `rush` if the rush service was asked for."""

    by: date | None = None
    rush: bool = False


def lead_days(ordering: Ordering, wish: Wish) -> int:
    """Return the days before work can begin: less with the rush service."""
    return ordering.rush_lead_days if wish.rush else ordering.lead_days


def promise(
    accepted_on: date, open_minutes: Fraction, own_minutes: Fraction, ordering: Ordering
) -> date:
    """Return the day on which a job accepted now will be ready.

    Args:
        accepted_on: the shop's day of acceptance.
        open_minutes: of the tickets that are waiting or in work.
        own_minutes: of the job itself.
        ordering: the bench's working minutes by weekday, closed days and lead.

    Raises:
        NoPromise: the day would be more than ten years away.
    """
    closed = frozenset(ordering.closed_days)
    left, day = open_minutes + own_minutes, accepted_on + ordering.lead_days * _DAY
    for _ in range(FURTHEST_DAYS):
        day += _DAY
        worked = 0 if day in closed else ordering.working_minutes[day.weekday()]
        left -= worked
        if worked and left <= 0:
            return day
    raise NoPromise(_TOO_MUCH)


def first_day(
    accepted_on: date,
    own_minutes: Fraction,
    queue: Iterable[Promised],
    ordering: Ordering,
    lead: int,
) -> date:
    """Return the first day for which work can be promised without breaking another promise.

    Work is done in the order of its promised days. So a day can be kept if until then, and until
    every later promised day, the bench works no fewer minutes than are promised for it and before,
    these ones included. Tickets without a promised day give way. (The rule of the earliest due
    date: J. R. Jackson, Scheduling a production line to minimize maximum tardiness, 1955.)

    Args:
        accepted_on: the shop's day of acceptance; the bench goes on the day after.
        own_minutes: of the job itself; they are worked after the lead.
        queue: the tickets that are waiting or in work.
        ordering: the bench's working minutes by weekday, and closed days.
        lead: the days before work on the job can begin.

    Raises:
        NoPromise: the day would be more than ten years away.
    """
    due: dict[date, Fraction] = {}
    for promised, minutes in queue:
        if promised is not None:
            due[promised] = due.get(promised, Fraction(0)) + minutes
    last = max(due, default=accepted_on)
    left = -own_minutes - sum((m for day, m in due.items() if day <= accepted_on), Fraction(0))
    own, found = -own_minutes, None
    closed, begins = frozenset(ordering.closed_days), accepted_on + lead * _DAY
    day = accepted_on
    for _ in range(FURTHEST_DAYS):
        day += _DAY
        worked = 0 if day in closed else ordering.working_minutes[day.weekday()]
        left += worked - due.get(day, Fraction(0))
        own += worked if day > begins else 0
        if left < 0:
            found = None
        elif found is None and worked and own >= 0:
            found = day
        if found is not None and day >= last:
            return found
    raise NoPromise(_TOO_MUCH)
