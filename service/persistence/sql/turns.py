"""Turns at writing to a SQLite file, shared by all threads and processes that serve from it.

SQLite allows one writer at a time. Other writers poll, with a sleep that grows to a tenth of a
second; under load they sleep through many turns. Here one thread of each process waits, and polls a
file lock every half millisecond; the system releases the lock even if its holder dies. Writers that
take no turns (a backup, another program) are still kept apart by SQLite itself.
"""

from __future__ import annotations

import fcntl
import os
from threading import Lock
from time import monotonic, sleep

LOOK_SECONDS = 0.0005


class NoTurn(Exception):
    """Others were writing to the file for the whole time allowed."""


class Turns:
    """Turns at writing to one file; thread-safe. A thread takes one turn at a time."""

    def __init__(self, database: str, seconds: float) -> None:
        self._path = f"{database}-turn"
        self._seconds = seconds
        self._door = Lock()
        self._file = -1

    def take(self, seconds: float | None = None) -> None:
        """Wait for a turn for this many seconds, by default as long as writers usually do.

        Raises:
            NoTurn: it did not come in time.
        """
        seconds = self._seconds if seconds is None else seconds
        ends = monotonic() + seconds
        if not self._door.acquire(timeout=seconds):
            raise NoTurn
        try:
            self._file = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
            self._lock(ends)
        except BaseException:
            self.give_back()
            raise

    def give_back(self) -> None:
        """Release the turn."""
        if self._file >= 0:
            os.close(self._file)  # which releases the lock
            self._file = -1
        self._door.release()

    def _lock(self, ends: float) -> None:
        while True:
            try:
                fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                if monotonic() > ends:
                    raise NoTurn from None
                sleep(LOOK_SECONDS)
            else:
                return
