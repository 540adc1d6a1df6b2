"""Heartbeats for requests in progress, as long as their process lives.

One thread per process sends heartbeats for all requests that take longer than one beat; most finish
before and cost nothing here. When a process dies, the beats stop and its claims are free once the
lease expires.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Lock, Thread
from time import monotonic

from service.app.keys.idempotency import LEASE
from service.persistence.keys.idempotency import Claim, OnceRequest
from service.persistence.sql.session import Clock, StorageUnavailable
from service.persistence.unit_of_work import UnitsOfWork

BEAT_EVERY = 1.5
"""Seconds between two heartbeats: a few may be lost before the lease expires."""
_LOG = logging.getLogger(__name__)


class ClaimBeats:
    """The requests that this process works on; thread-safe."""

    def __init__(
        self, units: UnitsOfWork, clock: Clock, longest: float, every: float = BEAT_EVERY
    ) -> None:
        """Set up heartbeats for requests.

        Args:
            units: where the claims are stored.
            clock: the clock by which claims lapse.
            longest: seconds after which a request gets no more beats; its worker must be stuck.
            every: seconds between two beats.
        """
        self._units = units
        self._clock = clock
        self._longest = longest
        self._every = every
        self._lock = Lock()
        self._held: dict[Claim, float] = {}
        self._stopping = Event()
        self._thread: Thread | None = None

    @contextmanager
    def held(self, request: OnceRequest) -> Iterator[None]:
        """Send heartbeats for a request during the block."""
        claim = Claim(request.key_id, request.name, request.claim)
        with self._lock:
            self._held[claim] = monotonic()
            if self._thread is None and not self._stopping.is_set():
                self._thread = Thread(target=self._run, name="claim-beats", daemon=True)
                self._thread.start()
        try:
            yield
        finally:
            with self._lock:
                del self._held[claim]

    def close(self) -> None:
        """Stop the heartbeats."""
        self._stopping.set()
        if self._thread is not None:
            self._thread.join()

    def beat(self) -> None:
        """Send one heartbeat for all requests held for longer than a beat."""
        now = monotonic()
        with self._lock:
            ages = {claim: now - since for claim, since in self._held.items()}
        claims = [claim for claim, age in ages.items() if self._every <= age <= self._longest]
        if not claims:
            return
        with self._units.writing() as uow:
            uow.once.beat(claims, self._clock() + LEASE)
            uow.commit()

    def _run(self) -> None:
        while not self._stopping.wait(self._every):
            try:
                self.beat()
            except StorageUnavailable:
                _LOG.warning("the database cannot be reached; saying later what is worked on")
            except Exception:
                _LOG.exception("saying what is worked on failed; trying again")
