"""Doing a request once, however often it is sent (IETF draft Idempotency-Key, version 07).

A request is claimed, worked out, and finished in the same transaction as its effect. So after a
crash either both are there or neither: the caller who sends it again gets the first answer, or has
it done now. Which error costs more: a quote stored twice is a nuisance, an order taken twice is
moulding cut twice; so a claim that cannot be finished undoes its effect.

A refused request leaves no claim: nothing was done, and it may be put right and sent again.

Whoever works on a request says so every second or two (`claim_beats`), so that the claims of a
process that died are free within seconds. All times are by one clock, the database's, and yet none
decides whether something is done twice: only a request that is not done can be taken over, and only
by the word of its claim can it be finished.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.domain.errors import DomainError, NotFound
from service.persistence.keys.idempotency import KeptAnswer, OnceRequest
from service.persistence.unit_of_work import UnitOfWork

LEASE = timedelta(seconds=6)
"""A claim of which nothing was heard for so long is nobody's any more."""
SET_BACK = timedelta(minutes=5)
"""A claim that lapses later than this after any made now tells of a clock that was set back, and
waiting for it could take hours. It is taken over, which undoes nothing that was finished: whoever
holds it still finds out at the end."""
TRIES = 3
"""A claim that is given back at the very moment somebody looks at it is tried anew."""


class KeyReused(DomainError):
    """The idempotency key names another request already."""

    code = "key_reused"


class StillRunning(DomainError):
    """The request is being worked on by an earlier sending of it."""

    code = "still_running"

    def __init__(self, message: str, wait: timedelta = LEASE) -> None:
        super().__init__(message)
        self.wait = wait
        """After so long it is done, or free, or was heard of again."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What makes two requests the same: the API key, the name it was given, and what is asked."""

    key_id: str
    name: str
    fingerprint: str


def begin(uow: UnitOfWork, asked: Asked, now: datetime, life: timedelta) -> OnceRequest:
    """Claim a request, or find it done; the caller commits.

    Args:
        uow: a unit of work of its own, over before the work begins.
        asked: the request.
        now: the time.
        life: for how long the answer is given again.

    Returns:
        the request: with an answer where it is done, else now held by the caller.

    Raises:
        KeyReused: the name stands for another request.
        StillRunning: it is held by another.
    """
    mine = OnceRequest(
        key_id=asked.key_id,
        name=asked.name,
        fingerprint=asked.fingerprint,
        claim=secrets.token_hex(32),
        claimed_at=now,
        lapses_at=now + LEASE,
        expires_at=now + life,
    )
    wait = LEASE
    for _ in range(TRIES):
        if uow.once.claim(mine):
            return mine
        try:
            there = uow.once.find(asked.key_id, asked.name)
        except NotFound:
            continue
        if there.expires_at > now:
            if there.fingerprint != asked.fingerprint:
                raise KeyReused("this Idempotency-Key was sent with another request; use a new one")
            if there.answer is not None:
                return there
            wait = there.lapses_at - now
            if timedelta(0) < wait <= LEASE + SET_BACK:
                break
        if uow.once.take_over(mine, there):
            return mine
    raise StillRunning("this request is being worked on already; ask again in a moment", wait)


def finish(uow: UnitOfWork, request: OnceRequest, answer: KeptAnswer) -> None:
    """Keep the answer with its effect; the caller commits.

    Raises:
        StillRunning: it took so long that another took it over; the effect must be undone.
    """
    if not uow.once.finish(request, answer):
        raise StillRunning("this took too long and was begun anew; ask again in a moment")
