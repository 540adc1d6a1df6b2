"""Counts that outlive a worker: each worker writes its figures under the number of its slot.

The library for metrics keeps one file a process, by its process id. Workers come and go, so files
would gather, and every look at the figures would read them all. Here a worker takes the lowest slot
that is free and goes on where the last worker of that slot stopped: as many files as workers, and
no figure ever goes back.

The library finds the place of the files in the environment; `service.api.metrics` reads it there
when a worker makes its application, and so does the library itself.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FOLDER = "PROMETHEUS_MULTIPROC_DIR"
SLOT = "WORKER_SLOT"
LEAVING = "leaving"
"""The file in that folder that is there once the server is about to end; read by `/readyz`."""


@contextmanager
def counting() -> Iterator[None]:
    """A place in memory for the figures of one run of the server, gone at its end."""
    before = os.environ.get(FOLDER)
    place = Path("/dev/shm")  # noqa: S108 — a place in memory, no file  # nosec B108
    memory = str(place) if place.is_dir() else None
    owner = os.getpid()
    folder = tempfile.mkdtemp(prefix="framing-quotes-metrics-", dir=memory)
    os.environ[FOLDER] = folder
    try:
        yield
    finally:
        if os.getpid() == owner:  # workers leave through here too
            shutil.rmtree(folder, ignore_errors=True)
            os.environ.pop(FOLDER)
            if before is not None:
                os.environ[FOLDER] = before


def say_leaving() -> None:
    """Let all workers know that the server is about to end."""
    (Path(os.environ[FOLDER]) / LEAVING).touch()


def take_slot(server: Any, worker: Any) -> None:
    """Give a worker the lowest slot that no living one has; gunicorn's `pre_fork`."""
    taken = {getattr(living, "slot", None) for living in server.WORKERS.values()}
    worker.slot = next(slot for slot in range(len(taken) + 1) if slot not in taken)


def tell_slot(_server: Any, worker: Any) -> None:
    """Let a worker's process know its slot; gunicorn's `post_fork`."""
    os.environ[SLOT] = str(worker.slot)
