"""A live service for tests that talk to it over HTTP as a stranger would."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import requests


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def command(*arguments: str, **environment: str) -> str:
    """What a command of ours prints; it must end well."""
    done = subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@contextmanager
def live_service(database_url: str) -> Iterator[str]:
    """The service with the demo shop, on a port of its own; gives its base address."""
    port = free_port()
    environment = {"DATABASE_URL": database_url, "PORT": str(port), "FRAMING_QUOTES_WORKERS": "1"}
    command("migrate", **environment)
    command("load-demo", **environment)
    process = subprocess.Popen(
        [sys.executable, "-m", "service", "serve"],
        env={**os.environ, **environment},
        stderr=subprocess.DEVNULL,
    )
    base = f"http://127.0.0.1:{port}"
    try:
        _wait_until_ready(base, process)
        yield base
    finally:
        process.terminate()
        process.wait(30)


def _wait_until_ready(base: str, process: subprocess.Popen[bytes]) -> None:
    for _ in range(300):
        assert process.poll() is None, "the service did not start"
        try:
            if requests.get(f"{base}/readyz", timeout=5).ok:
                return
        except requests.ConnectionError:
            time.sleep(0.1)
    raise AssertionError("the service was not ready within 30 s")
