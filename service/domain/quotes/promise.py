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

from datetime import date, timedelta
from fractions import Fraction

from service.domain.errors import Conflict
from service.domain.shop import Ordering

FURTHEST_DAYS = 3_660
"""A promise more than ten years away is not credible."""
_DAY = timedelta(days=1)


class NoPromise(Conflict):
    """The bench has more than ten years of work."""


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
    raise NoPromise("the bench has work for more than ten years; no day can be promised")
