"""The memory of a worker over 100,000 requests of every kind: under 120 MB, and flat.

    python -m tests.bench.memory [--requests 100000] [--seed 1]

One worker answers requests that differ in nearly every figure (`tests.bench.varied`), over as many
connections as it has threads. The caches fill within the first tenth or two; from then on the
memory is compared. A quarter of an hour on a quiet core, where all are sent.
"""

from __future__ import annotations

import argparse
import http.client
import json
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from pathlib import Path

from tests.bench.servers import children, resident_mb, service
from tests.bench.shops import prepared
from tests.bench.varied import QUOTE, Sent, Varied

CALLERS = 4
STEPS = 20
MOST_MB, FLAT_MB = 120, 4
"""What a worker may take in all, and how much more at the end than half-way."""


class Caller:
    """Sends requests one after the other over one connection, and keeps the numbers of quotes."""

    def __init__(self, port: int, key: str) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self._key = key
        self._numbers: list[str] = []
        self.answered: Counter[int] = Counter()

    def send(self, asked: list[Sent]) -> None:
        """Send these, one after the other."""
        for one in asked:
            path = one.path
            if QUOTE in path:
                if not self._numbers:
                    continue
                path = path.replace(QUOTE, self._numbers[len(path) % len(self._numbers)])
            status, body = self._answer(one, path)
            self.answered[status] += 1
            if status == 201:
                self._numbers = [*self._numbers[-500:], json.loads(body)["number"]]
        self._connection.close()  # opened anew by the next request: the server closes idle ones

    def _answer(self, one: Sent, path: str) -> tuple[int, bytes]:
        headers = {
            "Authorization": f"Bearer {self._key}",
            "Content-Type": one.kind,
            "Accept": one.accept,
        }
        self._connection.request(one.method, path, one.body or None, headers)
        answer = self._connection.getresponse()
        return answer.status, answer.read()


def measure(requests: int, seed: int) -> None:
    """Print the worker's memory as the requests go by.

    Raises:
        SystemExit: it is too much, or still grows.
    """
    settings = {"FRAMING_QUOTES_WORKERS": "1", "FRAMING_QUOTES_LOG_LEVEL": "warning"}
    stream = iter(Varied(seed))
    with tempfile.TemporaryDirectory() as name:
        address, key = prepared(Path(name), "counter")
        with service(DATABASE_URL=address, **settings) as (port, pid, _):
            (worker,) = children(pid)
            callers = [Caller(port, key) for _ in range(CALLERS)]
            found = [resident_mb(worker)]
            print(f"{0:7} requests: {found[0]:6.1f} MB")
            began = time.monotonic()
            for step in range(1, STEPS + 1):
                shares = [list(islice(stream, requests // STEPS // CALLERS)) for _ in callers]
                with ThreadPoolExecutor(CALLERS) as pool:
                    list(
                        pool.map(
                            lambda pair: pair[0].send(pair[1]), zip(callers, shares, strict=True)
                        )
                    )
                found.append(resident_mb(worker))
                spent = time.monotonic() - began
                print(f"{step * requests // STEPS:7} requests: {found[-1]:6.1f} MB, {spent:.0f} s")
    answered = sum((caller.answered for caller in callers), Counter[int]())
    print("answers:", ", ".join(f"{status}: {n}" for status, n in sorted(answered.items())))
    assert not any(status >= 500 for status in answered)
    if max(found) > MOST_MB or found[-1] - found[len(found) // 2] > FLAT_MB:
        raise SystemExit(f"more than {MOST_MB} MB, or {FLAT_MB} MB more than half-way")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    measure(given.requests, given.seed)
