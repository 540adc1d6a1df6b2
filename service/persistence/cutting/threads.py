"""The port `Jobs` within this process: one thread, one plan after the other, and no other engine.

For a database that one machine alone works on. What a stopped process leaves behind is picked up by
the next one, or by another worker of the same server.
"""

from __future__ import annotations

import logging
from queue import Empty, SimpleQueue
from threading import Event, Lock, Thread
from typing import Protocol

from service.persistence.cutting.work import PlanWork
from service.persistence.sql.session import StorageUnavailable

LOOKS_EVERY = 60.0
"""Seconds after which an idle thread looks for plans that nobody works on."""
_LOG = logging.getLogger(__name__)


class ThreadJobs:
    """Works on plans in a thread; nothing is begun before `start`."""

    def __init__(self, work: PlanWork, looks_every: float = LOOKS_EVERY) -> None:
        self._stopping = Event()
        self._work = work.until(self._stopping.is_set)
        self._looks_every = looks_every
        self._waiting: SimpleQueue[tuple[str, str] | None] = SimpleQueue()
        self._queued: set[str] = set()
        self._starting, self._thread = Lock(), Thread(target=self._run, name="cutting-plans")
        self._thread.daemon = True

    def put(self, shop_id: str, plan_id: str) -> None:
        """See to it that a waiting plan is worked on; it is queued once however often it is put."""
        if plan_id not in self._queued:
            self._queued.add(plan_id)
            self._waiting.put((shop_id, plan_id))

    def start(self) -> None:
        """Work on plans from now on, beside whatever else this process does."""
        with self._starting:
            if self._thread.ident is None and not self._stopping.is_set():
                self._thread.start()

    def close(self) -> None:
        """Begin nothing more, and let go of what is being worked on."""
        self._stopping.set()
        self._waiting.put(None)
        with self._starting:
            if self._thread.ident is not None:
                self._thread.join()

    def _run(self) -> None:
        while not self._stopping.is_set():
            try:
                self._turn()
            except StorageUnavailable:
                _LOG.warning("the database cannot be reached; looking for plans again later")
            except Exception:
                _LOG.exception("looking for plans failed; trying again later")

    def _turn(self) -> None:
        try:
            asked = self._waiting.get(timeout=self._looks_every)
        except Empty:
            for found in self._work.orphans():
                self._work(*found)
            return
        if asked is not None:
            self._queued.discard(asked[1])
            self._work(*asked)


class Jobs(Protocol):
    """Works on plans in the background, each at least once; a plan may be worked on only once."""

    def put(self, shop_id: str, plan_id: str) -> None:
        """See to it that a waiting plan, already stored, is worked on."""
        ...

    def start(self) -> None:
        """Work on plans from now on, where that is this process's part."""
        ...

    def close(self) -> None:
        """Begin nothing more, and let go of what is being worked on."""
        ...
