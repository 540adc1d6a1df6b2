"""Doing a request once, however often it is sent (IETF draft Idempotency-Key, version 07).

A request is claimed, calculated, and finished in the same transaction as its effect, so after a
crash either both are stored or neither: a caller who retries gets the first answer, or has it done
now. A claim that cannot be finished undoes its effect: a quote stored twice is a nuisance, an order
taken twice is moulding cut twice.

A refused request leaves no claim: nothing was done, and it may be corrected and sent again.

A worker sends a heartbeat every second or two (`claim_beats`), so that the claims of a dead process
are free within seconds. All times come from one clock, the database's. Still, no time decides
whether something is done twice: only an unfinished request can be taken over, and it can only be
finished with its claim's token.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.domain.errors import DomainError, NotFound
from service.persistence.keys.idempotency import KeptAnswer, OnceRequest
from service.persistence.unit_of_work import UnitOfWork

LEASE = timedelta(seconds=6)
"""A claim without a heartbeat for this long is free."""
SET_BACK = timedelta(minutes=5)
"""Maximum clock skew.

A claim that lapses later than a lease plus this from now shows that a clock was set back, and
waiting for it could take hours. It is taken over, which undoes nothing that was finished: its
holder still finds out at the end.
"""
TRIES = 3
"""The number of attempts at a claim that others release meanwhile."""


class KeyReused(DomainError):
    """The idempotency key was already used for a different request."""

    code = "key_reused"


class StillRunning(DomainError):
    """An earlier copy of the request is still being processed."""

    code = "still_running"

    def __init__(self, message: str, wait: timedelta = LEASE) -> None:
        super().__init__(message)
        self.wait = wait
        """After so long it is done, or free, or was heard of again."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The identity of a request: the API key, the idempotency key's name, and the fingerprint."""

    key_id: str
    name: str
    fingerprint: str


def begin(uow: UnitOfWork, asked: Asked, now: datetime, life: timedelta) -> OnceRequest:
    """Claim a request, or find it done; the caller commits.

    Args:
        uow: a separate unit of work, finished before the work begins.
        asked: the request.
        now: the current time.
        life: how long the answer can be repeated.

    Returns:
        The request: with an answer if it is done, else now held by the caller.

    Raises:
        KeyReused: the name belongs to a different request.
        StillRunning: another caller holds it.
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
    """Store the answer with its effect; the caller commits.

    Raises:
        StillRunning: another worker took it over meanwhile; the effect must be undone.
    """
    if not uow.once.finish(request, answer):
        raise StillRunning("this took too long and was begun anew; ask again in a moment")
