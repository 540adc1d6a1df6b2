"""Turns at writing to a SQLite file, taken by all threads and processes that serve from it.

SQLite lets one write at a time, and has the others look again after a sleep that grows to a tenth
of a second; under load they sleep through many turns. Here one thread of each process waits at the
door, and looks every half millisecond at a lock that the system frees even where its holder dies.
Whoever does not take turns (a backup, another program) is still kept apart by SQLite itself.
"""

from __future__ import annotations

import fcntl
import os
from threading import Lock
from time import monotonic, sleep

LOOK_SECONDS = 0.0005


class NoTurn(Exception):
    """Others wrote to the file for the whole of the time that there was."""


class Turns:
    """Turns at writing to one file; safe for threads. A thread takes one turn at a time."""

    def __init__(self, database: str, seconds: float) -> None:
        self._path = f"{database}-turn"
        self._seconds = seconds
        self._door = Lock()
        self._file = -1

    def take(self, seconds: float | None = None) -> None:
        """Wait for a turn, for so many seconds or else for as long as writers usually do.

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
        """Let the next one write."""
        if self._file >= 0:
            os.close(self._file)  # which frees the lock
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
