"""Rate limits: one token bucket per key, in memory or in the database."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from threading import Lock
from typing import Any, Protocol

from sqlalchemy import BigInteger, Column, Engine, Table, bindparam, case, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.persistence.sql.engine import writing
from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.session import Clock

_NOW = bindparam("now", type_=BigInteger)
_EACH = bindparam("each", type_=BigInteger)


# No foreign key, and unlogged in PostgreSQL: every request writes here, and losing the table in a
# crash only gives every caller a full allowance.
rate_buckets = Table(
    "rate_buckets",
    metadata,
    Column("key_id", ID, primary_key=True),
    Column("full_at", BigInteger, nullable=False),
)


_FULL_AT = select(rate_buckets.c.full_at).where(rate_buckets.c.key_id == bindparam("key"))


@cache
def counting(dialect: str, full: int) -> Any:
    """Return the statement that counts `each` in the bucket of `key` at `now` if there is room.

    Args:
        dialect: the database's.
        full: how long an empty bucket takes to fill; microseconds.

    Returns:
        An upsert that returns when the bucket will be full again; no row if the request is refused.
    """
    # A bucket that lacks more than a whole bucket shows that a clock was set back.
    start = case(
        (rate_buckets.c.full_at.between(_NOW, _NOW + full), rate_buckets.c.full_at), else_=_NOW
    )
    insert = (postgresql if dialect == "postgresql" else sqlite).insert(rate_buckets)
    first = insert.values(key_id=bindparam("key"), full_at=_NOW + _EACH)
    return first.on_conflict_do_update(
        index_elements=[rate_buckets.c.key_id],
        set_={"full_at": start + _EACH},
        where=start + _EACH - _NOW <= full,
    ).returning(rate_buckets.c.full_at)


class SqlRates:
    """The SQL implementation of the `Rates` port."""

    def __init__(self, engine: Engine, clock: Clock) -> None:
        self._engine = writing(engine)
        self._clock = clock
        self._count = counting(engine.dialect.name, FULL)

    def take(self, key_id: str, per_minute: int, requests: int = 1) -> Allowance:
        """Count this many requests, all or none."""
        now = microseconds(self._clock())
        each = (FULL // per_minute or 1) * requests
        values = {"key": key_id, "now": now, "each": each}
        try:
            with self._engine.begin() as connection:
                full_at = connection.execute(self._count, values).scalar()
                if full_at is None:
                    full_at = connection.execute(_FULL_AT, {"key": key_id}).scalar_one()
                    return refusal(full_at, now, per_minute, requests)
        except (OperationalError, InterfaceError, PoolTimeout):
            return counted(0, now, per_minute, requests)[1]
        return counted(full_at - each, now, per_minute, requests)[1]


def microseconds(at: datetime) -> int:
    """Return an instant as whole microseconds of Unix time."""
    return int(at.timestamp()) * SECOND + at.microsecond


WINDOW = 60
"""Seconds in which a key earns its full allowance."""
SECOND = 1_000_000
FULL = WINDOW * SECOND
MOST = 10_000
"""Keys counted at once in memory; full buckets are dropped when it is reached."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """The rest of a key's allowance after a request, in whole requests and whole seconds.

    `wait` is 0 if the request may proceed, else the number of seconds until another may come.
    """

    quota: int
    left: int
    full_in: int
    wait: int


class Rates(Protocol):
    """Counts the requests of keys."""

    def take(self, key_id: str, per_minute: int, requests: int = 1) -> Allowance:
        """Count requests of a key that may send `per_minute`; all or none."""
        ...


def counted(full_at: int, now: int, per_minute: int, requests: int = 1) -> tuple[int, Allowance]:
    """Count simultaneous requests: all, or none if they exceed the allowance.

    Args:
        full_at: when the bucket would have been full again; microseconds.
        now: the current time; microseconds.
        per_minute: how many requests a minute earns.
        requests: how many there are; at most `per_minute`.

    Returns:
        When the bucket will be full again, and the allowance left.
    """
    each = FULL // per_minute or 1
    behind = _behind(full_at, now) + each * requests
    if behind > FULL:
        return full_at, refusal(full_at, now, per_minute, requests)
    return now + behind, Allowance(per_minute, (FULL - behind) // each, _up(behind), 0)


def refusal(full_at: int, now: int, per_minute: int, requests: int = 1) -> Allowance:
    """Return the allowance left when requests are refused."""
    behind = _behind(full_at, now)
    each = FULL // per_minute or 1
    left = (FULL - behind) // each
    return Allowance(per_minute, left, _up(behind), max(_up(behind + each * requests - FULL), 1))


def _behind(full_at: int, now: int) -> int:
    """Return how far the bucket is from full.

    More than a whole bucket means a clock was set back.
    """
    behind = full_at - now
    return behind if 0 < behind <= FULL else 0


def _up(microseconds: int) -> int:
    return -(-microseconds // SECOND)


class MemoryRates:
    """Counts in this process only; thread-safe."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._lock = Lock()
        self._full_at: dict[str, int] = {}

    def take(self, key_id: str, per_minute: int, requests: int = 1) -> Allowance:
        """Count this many requests, all or none."""
        now = int(self._monotonic() * SECOND)
        with self._lock:
            was = self._full_at.get(key_id, 0)
            full_at, allowance = counted(was, now, per_minute, requests)
            if len(self._full_at) >= MOST and key_id not in self._full_at:
                self._full_at = {k: at for k, at in self._full_at.items() if at > now}
            self._full_at[key_id] = full_at
        return allowance
