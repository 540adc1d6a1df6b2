"""Callers who hardly send: does anybody else notice them?

    python -m tests.faults.slow_senders [SENDERS] [SECONDS]

A shop's form asks for estimates, first alone and then beside the slow senders, in turn; its times
are compared. The slow senders have no key that is in force. They send half a head, a form's body
that says 1,000 bytes and comes a byte at a time, the beginning of a document, or of a chunk; who is
refused comes again. It runs against the service itself, and through `deploy/Caddyfile` where there
is a `caddy`. It ends with 1 where the form's p99 beside them is more than twice what it is alone,
or where anything of the form's failed.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.load import SPACE, http_post
from tests.bench.servers import free_port, service
from tests.bench.shops import documents, prepared

TOP = Path(__file__).parents[2]
MOST_TIMES = 2.0
ROUNDS = 4
PACE_SECONDS = 0.04
"""The form asks so often."""
PATIENCE = 10.0


def asked(port: int, requests: list[bytes], seconds: float) -> tuple[list[float], int]:
    """Ask at a fixed pace on one connection.

    Returns:
        the seconds of each, from the moment at which it was due, so that one which is stuck counts
        for all that it keeps waiting; and how many failed.
    """
    times: list[float] = []
    failed = 0
    began = time.monotonic()
    sock: socket.socket | None = None
    for number in range(int(seconds / PACE_SECONDS)):
        due = began + number * PACE_SECONDS
        time.sleep(max(0.0, due - time.monotonic()))
        try:
            if time.monotonic() > began + seconds + PATIENCE:
                raise TimeoutError
            sock = sock or socket.create_connection(("127.0.0.1", port), timeout=PATIENCE)
            sock.sendall(requests[number % len(requests)])
            good = _answer(sock).startswith(b"HTTP/1.1 200")
        except OSError:
            good = False
        if not good:
            failed += 1
            sock = None
        times.append(time.monotonic() - due)
    if sock is not None:
        sock.close()
    return times, failed


def _answer(sock: socket.socket) -> bytes:
    got = b""
    while SPACE not in got:
        part = sock.recv(65_536)
        if not part:
            raise ConnectionError
        got += part
    head, _, body = got.partition(SPACE)
    length = int(head.lower().split(b"content-length:")[1].split(b"\r\n")[0])
    while len(body) < length:
        part = sock.recv(65_536)
        if not part:
            raise ConnectionError
        body += part
    return head


@dataclass
class Found:
    """What the form met, alone and beside the senders."""

    alone: list[float] = field(default_factory=list)
    beside: list[float] = field(default_factory=list)
    failed: int = 0
    answers: Counter[str] = field(default_factory=Counter)

    @property
    def times(self) -> float:
        """How many times as long the form's p99 is beside them."""
        return p99(self.beside) / p99(self.alone)


def p99(times: list[float]) -> float:
    """The 99th percentile."""
    return statistics.quantiles(times, n=100)[98]


def measured(port: int, key: str, many: int, seconds: float, rounds: int = ROUNDS) -> Found:
    """The form alone and beside the senders, in turn."""
    requests = [http_post("/v1/estimates", each, key) for each in documents(20)]
    asked(port, requests, 2)  # everything is loaded
    found = Found()
    for _ in range(rounds):
        times, failed = asked(port, requests, seconds)
        found.alone += times
        with sending(port, many, seconds + 2) as answers:
            beside, more = asked(port, requests, seconds)
        found.beside += beside
        found.failed += failed + more
        found.answers += answers
    return found


@contextmanager
def sending(port: int, many: int, seconds: float) -> Iterator[Counter[str]]:
    """The slow senders beside what is done meanwhile; what they met stands in the counter then."""
    command = [sys.executable, "-m", "tests.faults.hardly_sending"]
    process = subprocess.Popen(
        [*command, str(port), str(many), str(seconds)], cwd=TOP, stdout=subprocess.PIPE, text=True
    )
    met: Counter[str] = Counter()
    try:
        assert process.stdout is not None
        assert process.stdout.readline()  # all have begun
        yield met
    finally:
        told, _ = process.communicate(timeout=seconds + 30)
        met.update(json.loads(told))


@contextmanager
def proxied(folder: str, port: int) -> Iterator[int]:
    """The port of the real proxy before a node."""
    mine = free_port()
    told = {"SITE_ADDRESS": f"http://127.0.0.1:{mine}", "UPSTREAMS": f"127.0.0.1:{port}"}
    proxy = subprocess.Popen(
        ["caddy", "run", "--config", "deploy/Caddyfile", "--adapter", "caddyfile"],
        cwd=TOP,
        env={**os.environ, **told, "XDG_CONFIG_HOME": folder, "XDG_DATA_HOME": folder},
        stderr=subprocess.DEVNULL,
    )
    try:
        ends = time.monotonic() + 20
        while time.monotonic() < ends:
            with suppress(OSError), socket.create_connection(("127.0.0.1", mine), timeout=1):
                break
            time.sleep(0.1)
        time.sleep(2)  # the node has been looked at
        yield mine
    finally:
        proxy.terminate()
        proxy.wait(20)


def main(many: int, seconds: float) -> int:
    """Run, print, and say by the exit code whether anybody noticed."""
    noticed = False
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        address, key = prepared(Path(folder), "price")
        port, _, _ = stack.enter_context(
            service(DATABASE_URL=address, FRAMING_QUOTES_LOG_LEVEL="error")
        )
        ways = {"the service itself": port}
        if shutil.which("caddy"):
            ways["through deploy/Caddyfile"] = stack.enter_context(proxied(folder, port))
        for name, way in ways.items():
            found = measured(way, key, many, seconds)
            noticed |= found.times > MOST_TIMES or found.failed > 0
            sys.stdout.write(
                f"{name}: p99 {p99(found.alone) * 1e3:.1f} ms alone, "
                f"{p99(found.beside) * 1e3:.1f} ms beside {many} slow senders "
                f"({found.times:.2f} times); {len(found.beside)} answers, {found.failed} failed\n"
                f"  the senders met {dict(sorted(found.answers.items()))}\n"
            )
    return int(noticed)


if __name__ == "__main__":
    given = sys.argv[1:]
    raise SystemExit(
        main(int(given[0]) if given else 200, float(given[1]) if len(given) > 1 else 5)
    )
