"""What threads tell each other of a database that hangs."""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from time import monotonic

CONNECT_SECONDS = 3
PING_SECONDS = 2.0
"""A pooled connection that does not answer within this time is not used."""
SLOW_SECONDS = 1.0
"""A vain wait of this length is reported to the other threads."""
AGAIN_SECONDS = 1.0
"""The delay after which one of them tries again."""


class Outage:
    """Tells all threads that the database hangs, so that not every one has to find out.

    Once one thread has waited in vain, others are refused at once; one of them tries each second,
    and the first to get an answer lets all in again. Thread-safe.
    """

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._lock = Lock()
        self._until = 0.0

    def lets_in(self) -> bool:
        """Return True if the caller may try; while the database hangs, one caller at a time may."""
        if not self._until:
            return True
        with self._lock:
            now = self._clock()
            if self._until and now < self._until:
                return False
            if self._until:
                self._until = now + CONNECT_SECONDS + PING_SECONDS
            return True

    def over(self) -> None:
        """Record that the database has answered."""
        if self._until:
            with self._lock:
                self._until = 0.0

    def failed(self, error: BaseException, began: float) -> None:
        """Record a failure of something begun at `began`, if it was a long wait for nothing."""
        silent = getattr(getattr(error, "orig", None), "sqlstate", None) is None
        now = self._clock()
        with self._lock:
            if silent and (self._until or now - began >= SLOW_SECONDS):
                self._until = now + AGAIN_SECONDS
