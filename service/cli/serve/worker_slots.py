"""Metrics that outlive a worker: each worker writes its counts under its slot number.

The metrics library keeps one file per process id. Workers come and go, so files would pile up, and
every scrape would read them all. Here a worker takes the lowest free slot and continues the counts
of the last worker there: there are as many files as workers, and no counter ever goes back.

The library finds the files' folder in the environment; `service.api.monitoring.metrics` reads it
there when a worker creates its application, and so does the library itself.
"""

from __future__ import annotations

import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FOLDER = "PROMETHEUS_MULTIPROC_DIR"
SLOT = "WORKER_SLOT"
PREFIX = "framing-quotes-metrics-"
OWNER = "owner"
"""The file in that folder that its server keeps locked."""
LEAVING = "leaving"
"""The file in that folder that announces the server's stop; read by `/readyz`."""


@contextmanager
def counting() -> Iterator[None]:
    """Provide a folder in memory for the metrics of one server run, removed at its end."""
    before = os.environ.get(FOLDER)
    place = Path("/dev/shm")  # noqa: S108 — a place in memory, no file  # nosec B108
    memory = str(place) if place.is_dir() else None
    owner = os.getpid()
    folder = tempfile.mkdtemp(prefix=PREFIX, dir=memory)
    clear_left_behind(Path(folder).parent)
    held = _own(Path(folder))
    os.environ[FOLDER] = folder
    try:
        yield
    finally:
        os.close(held)
        if os.getpid() == owner:  # workers leave through here too
            shutil.rmtree(folder, ignore_errors=True)
            os.environ.pop(FOLDER)
            if before is not None:
                os.environ[FOLDER] = before


def _own(folder: Path) -> int:
    """Lock a folder as long as this process or a fork of it lives; return the file."""
    new = folder / f".{OWNER}"
    held = os.open(new, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    fcntl.flock(held, fcntl.LOCK_EX)
    new.rename(folder / OWNER)  # locked before anybody can find it
    return held


def clear_left_behind(place: Path) -> None:
    """Remove the metrics folders of servers that were killed.

    A folder is stale if nobody holds its lock; the kernel releases a lock with the last process
    that holds it. A folder without a lock file is being created, and stays.
    """
    for folder in place.glob(f"{PREFIX}*"):
        try:
            if folder.is_symlink() or folder.stat().st_uid != os.getuid():
                continue
            held = os.open(folder / OWNER, os.O_RDWR | os.O_CLOEXEC | os.O_NOFOLLOW)
        except OSError:
            continue
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
            shutil.rmtree(folder, ignore_errors=True)
        except BlockingIOError:
            continue  # its server lives
        finally:
            os.close(held)


def say_leaving() -> None:
    """Tell all workers that the server is about to stop."""
    (Path(os.environ[FOLDER]) / LEAVING).touch()


def take_slot(server: Any, worker: Any) -> None:
    """Give a worker the lowest slot free of living workers; gunicorn's `pre_fork`."""
    taken = {getattr(living, "slot", None) for living in server.WORKERS.values()}
    worker.slot = next(slot for slot in range(len(taken) + 1) if slot not in taken)


def tell_slot(_server: Any, worker: Any) -> None:
    """Tell a worker's process its slot; gunicorn's `post_fork`."""
    os.environ[SLOT] = str(worker.slot)
