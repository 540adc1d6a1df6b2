"""What is broken in these scripts: nodes of the service, each a gunicorn with its workers."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

from tests.bench.servers import free_port

PATIENCE = 60.0
FAKETIME = Path("/usr/lib/x86_64-linux-gnu/faketime/libfaketimeMT.so.1")
"""Debian's `libfaketime`: another clock for one process, without a hook in the service."""


class Node:
    """One node on 127.0.0.1, in a process group of its own, started and ended here alone."""

    def __init__(self, database_url: str, log: Path, **environment: str) -> None:
        self.port = free_port()
        self._log = log
        self._environment = {
            **os.environ,
            "DATABASE_URL": database_url,
            "PORT": str(self.port),
            "FRAMING_QUOTES_WORKERS": "1",
            "FRAMING_QUOTES_LOG_LEVEL": "warning",
            "FRAMING_QUOTES_RATE_PER_MINUTE": "0",
            "FRAMING_QUOTES_REQUEST_SECONDS": "10",
            **environment,
        }
        self._process: subprocess.Popen[bytes] | None = None

    def start(self, clock: str = "") -> None:
        """Start it, by another clock where one is given ("-1h"), and wait until it answers."""
        shifted = {}
        if clock:
            shifted = {
                "LD_PRELOAD": str(FAKETIME),
                "FAKETIME": clock,
                "NO_FAKE_STAT": "1",  # gunicorn's heartbeat is the time of a file
            }
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "service", "serve"],
                env={**self._environment, **shifted},
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        ends = time.monotonic() + PATIENCE
        while time.monotonic() < ends:
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{self.port}/healthz", timeout=5).close()
            except (OSError, urllib.error.URLError):
                time.sleep(0.1)
            else:
                return
        raise RuntimeError(f"a node did not start; see {self._log}")

    def kill(self) -> None:
        """End all of it at once, as a loss of power would."""
        if self._process is not None:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait(PATIENCE)
            self._process = None
