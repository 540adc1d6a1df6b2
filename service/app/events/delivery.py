"""Delivering webhooks: from the change feed to messages, from messages to attempts.

Delays follow the example schedule of the Standard Webhooks specification, with a jitter of up to a
fifth so that retries do not coincide. Only a 2xx response counts as delivered; 410 means that the
endpoint is gone; a Retry-After header postpones the next attempt.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from schemas.events.feed import webhook_body
from schemas.events.records import Attempt, Endpoint, EventFilter, Message
from service.persistence.sql.session import IdSource
from service.persistence.unit_of_work import UnitOfWork

DELAYS = tuple(
    timedelta(seconds=seconds)
    for seconds in (5, 300, 1_800, 7_200, 18_000, 36_000, 50_400, 72_000, 86_400)
)
"""Retries after the first attempt: 5 s, 5 min, 30 min, 2, 5, 10, 14, 20 and 24 hours."""
LONGEST_DELAY = timedelta(days=1)
SPREAD = 5
READ_AT_ONCE = 200
GONE = 410
A_TURN = 5
"""The number of messages to one endpoint before others get their turn."""
HELD = timedelta(seconds=A_TURN * 25)
"""The time a worker reserves the messages of a turn: longer than sending all of them takes."""
LONGEST_ERROR = 200


@dataclass(frozen=True, slots=True)
class Outcome:
    """The result of sending: the response's status, or what went wrong before there was one."""

    status: int | None
    error: str
    milliseconds: int
    retry_after: int = 0

    @property
    def delivered(self) -> bool:
        """True if the receiver accepted it."""
        return self.status is not None and 200 <= self.status <= 299


def queue_events(
    uow: UnitOfWork, endpoint: Endpoint, new_id: IdSource, now: datetime
) -> tuple[Endpoint, bool]:
    """Turn new events into messages, each exactly once; the caller commits.

    Returns:
        The endpoint with its place in the feed, and True if there is more to read at once.
    """
    page = uow.events.page(endpoint.shop_id, EventFilter(), READ_AT_ONCE, endpoint.place)
    if not page.events or not uow.webhooks.advance(endpoint, page.after):
        return endpoint, False
    for stored in page.events:
        if not endpoint.kinds or stored.event.kind in endpoint.kinds:
            uow.webhooks.queue(
                Message(
                    id=new_id(),
                    endpoint_id=endpoint.id,
                    event_id=stored.place.id,
                    kind=stored.event.kind,
                    body=webhook_body(stored),
                    created_at=now,
                    due_at=now,
                )
            )
    return replace(endpoint, place=page.after), page.more


def settle(
    uow: UnitOfWork, endpoint: Endpoint, message: Message, outcome: Outcome, at: datetime
) -> Message:
    """Store the result of an attempt; the caller commits."""
    number = message.attempts + 1
    attempt = Attempt(
        number=number,
        at=at,
        status=outcome.status,
        error=outcome.error[:LONGEST_ERROR],
        milliseconds=outcome.milliseconds,
    )
    tried = replace(message, attempts=number, retries=message.retries + 1, due_at=None)
    if outcome.delivered:
        tried = replace(tried, state="delivered", delivered_at=at)
    elif outcome.status == GONE or message.retries >= len(DELAYS):
        tried = replace(tried, state="failed")
    else:
        wait = delay(message.retries, outcome.retry_after)
        tried = replace(tried, due_at=at + wait)
    uow.webhooks.record(tried, attempt)
    if outcome.status == GONE:
        uow.webhooks.shut(endpoint)
    return tried


def delay(retries: int, retry_after: int) -> timedelta:
    """Return how long to wait before the next attempt."""
    planned = DELAYS[retries]
    spread = planned / SPREAD * secrets.randbelow(1_000) / 1_000
    asked = min(timedelta(seconds=min(retry_after, 10**6)), LONGEST_DELAY)
    return max(planned + spread, asked)
