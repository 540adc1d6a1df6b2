"""The `Jobs` port within this process: one thread that makes one plan at a time.

For a database that only one machine uses. Plans left by a stopped process are picked up by the next
one, or by another worker of the same server.
"""

from __future__ import annotations

import logging
from queue import Empty, SimpleQueue
from threading import Event, Lock, Thread
from typing import Protocol

from service.persistence.cutting.work import PlanWork
from service.persistence.sql.session import StorageUnavailable

LOOKS_EVERY = 60.0
"""Seconds after which an idle thread looks for orphaned plans."""
_LOG = logging.getLogger(__name__)


class ThreadJobs:
    """Makes plans in a thread; nothing starts before `start`."""

    def __init__(self, work: PlanWork, looks_every: float = LOOKS_EVERY) -> None:
        self._stopping = Event()
        self._work = work.until(self._stopping.is_set)
        self._looks_every = looks_every
        self._waiting: SimpleQueue[tuple[str, str] | None] = SimpleQueue()
        self._queued: set[str] = set()
        self._starting, self._thread = Lock(), Thread(target=self._run, name="cutting-plans")
        self._thread.daemon = True

    def put(self, shop_id: str, plan_id: str) -> None:
        """Enqueue a waiting plan; it is queued once however often it is put."""
        if plan_id not in self._queued:
            self._queued.add(plan_id)
            self._waiting.put((shop_id, plan_id))

    def start(self) -> None:
        """Start working on plans in the background."""
        with self._starting:
            if self._thread.ident is None and not self._stopping.is_set():
                self._thread.start()

    def close(self) -> None:
        """Start no more plans and release the current one."""
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
        """Enqueue a waiting plan that is already stored."""
        ...

    def start(self) -> None:
        """Start working on plans, if this process does that."""
        ...

    def close(self) -> None:
        """Start no more plans and release the current one."""
        ...
