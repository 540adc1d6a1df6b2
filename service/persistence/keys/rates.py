"""How many requests a key may send: a bucket that fills steadily and holds one minute's worth.

The bucket is kept as one number, the instant at which it will be full again (the generic cell rate
algorithm of ITU-T I.371, as a virtual schedule). A request puts that instant off by the time in
which one more is earned; it is refused where that would be more than a minute away, and then puts
nothing off. Times are whole microseconds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from typing import Protocol

WINDOW = 60
"""Seconds in which a key earns all it may send at once."""
SECOND = 1_000_000
FULL = WINDOW * SECOND
MOST = 10_000
"""Keys counted at once in memory; full buckets are thrown away when it is reached."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """What is left of a key's allowance after a request, in whole requests and whole seconds.

    `wait` is 0 where the request may go on, else after how many seconds another may come.
    """

    quota: int
    left: int
    full_in: int
    wait: int


class Rates(Protocol):
    """Counts the requests of keys."""

    def take(self, key_id: str, per_minute: int, requests: int = 1) -> Allowance:
        """Count so many requests of a key that may send `per_minute`; all of them or none."""
        ...


def counted(full_at: int, now: int, per_minute: int, requests: int = 1) -> tuple[int, Allowance]:
    """Count requests that come together: all of them, or none where they are too many.

    Args:
        full_at: when the bucket would have been full again; microseconds.
        now: the time; microseconds.
        per_minute: how many requests a minute earns.
        requests: how many there are; never more than a minute earns.

    Returns:
        when it will be full after this, and what is left.
    """
    each = FULL // per_minute or 1
    behind = _behind(full_at, now) + each * requests
    if behind > FULL:
        return full_at, refusal(full_at, now, per_minute, requests)
    return now + behind, Allowance(per_minute, (FULL - behind) // each, _up(behind), 0)


def refusal(full_at: int, now: int, per_minute: int, requests: int = 1) -> Allowance:
    """What is left where requests are refused."""
    behind = _behind(full_at, now)
    each = FULL // per_minute or 1
    left = (FULL - behind) // each
    return Allowance(per_minute, left, _up(behind), max(_up(behind + each * requests - FULL), 1))


def _behind(full_at: int, now: int) -> int:
    """How far the bucket is from full; more than a whole one tells of a clock that was set back."""
    behind = full_at - now
    return behind if 0 < behind <= FULL else 0


def _up(microseconds: int) -> int:
    return -(-microseconds // SECOND)


class MemoryRates:
    """Counts in this process alone; safe for threads."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._lock = Lock()
        self._full_at: dict[str, int] = {}

    def take(self, key_id: str, per_minute: int, requests: int = 1) -> Allowance:
        """Count so many requests, all of them or none."""
        now = int(self._monotonic() * SECOND)
        with self._lock:
            was = self._full_at.get(key_id, 0)
            full_at, allowance = counted(was, now, per_minute, requests)
            if len(self._full_at) >= MOST and key_id not in self._full_at:
                self._full_at = {k: at for k, at in self._full_at.items() if at > now}
            self._full_at[key_id] = full_at
        return allowance
