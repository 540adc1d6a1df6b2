"""Requests a second of an echo, an estimate and a stored quote on 1, 2, 4 ... cores.

    python -m tests.bench.cores [--cores 1 2 4 8] [--rounds 5] [--requests 1500] [--sqlite]

The service has one worker a core and is pinned to these cores; the database and the load have the
rest of the machine. One shop has all quotes. The p99 is that of single requests at 70 % of the rate
that was reached; that of the echo tells how still the machine stands. It needs about twice as many
cores as the service gets.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import statistics
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, nullcontext
from pathlib import Path

from tests.bench import servers
from tests.bench.floors import opened
from tests.bench.load import http_post, load
from tests.bench.servers import cpu_seconds, gunicorn, postgres, service
from tests.bench.shops import documents, prepared

LOADERS = 4
"""Processes that send, each over several connections."""
PATIENCE = 60.0


def _one(port: int, requests: list[bytes], total: int, connections: int) -> tuple[int, int]:
    found = load(port, requests, total, connections)
    return found.answers, found.refused


def rate(port: int, requests: list[bytes], total: int, cores: int) -> float:
    """Answers a second, from several sending processes."""
    each, connections = total // LOADERS, max(2, 8 * cores // LOADERS)
    with multiprocessing.get_context("fork").Pool(LOADERS) as pool:
        pool.starmap(_one, [(port, requests, 5 * connections, connections)] * LOADERS)
        begun = time.perf_counter()
        done = pool.starmap(_one, [(port, requests, each, connections)] * LOADERS)
        spent = time.perf_counter() - begun
    assert not sum(refused for _, refused in done), "some were refused"
    return sum(answers for answers, _ in done) / spent


def _timed(port: int, requests: list[bytes], pause: float, count: int) -> list[float]:
    """Seconds that each of `count` requests took, one every `pause` seconds by four threads."""
    begun = time.perf_counter()

    def send(n: int) -> float:
        due = begun + n * pause
        time.sleep(max(0.0, due - time.perf_counter()))
        load(port, [requests[n % len(requests)]], 1, 1)
        return time.perf_counter() - max(due, begun)

    with ThreadPoolExecutor(16) as pool:
        return list(pool.map(send, range(count)))


def p99(port: int, requests: list[bytes], per_second: float, count: int) -> float:
    """The 99th of a hundred times, in seconds, at a steady rate; a late start counts."""
    pause = LOADERS / per_second
    with multiprocessing.get_context("fork").Pool(LOADERS) as pool:
        each = pool.starmap(_timed, [(port, requests, pause, count // LOADERS)] * LOADERS)
    return statistics.quantiles([spent for times in each for spent in times], n=100)[98]


@contextmanager
def _pinned(cores: int) -> Iterator[None]:
    """Processes started here run on the first cores, one worker a core."""
    everything, servers.WORKERS = os.sched_getaffinity(0), cores
    os.sched_setaffinity(0, sorted(everything)[:cores])
    try:
        yield
    finally:
        os.sched_setaffinity(0, everything)


def measure(cores: int, rounds: int, requests: int, *, on_postgres: bool) -> None:
    """Print the rows of the table for a number of cores."""
    bodies = documents(400)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        here = ["", str(folder / "floor.sqlite3")]
        with postgres(folder, "ours", "floor") if on_postgres else nullcontext(here) as (own, flr):
            opened(flr).close()
            address, key = prepared(folder, "counter", url=own)
            with _pinned(cores):
                bare = gunicorn("tests.bench.floors:bare()")
                stored = gunicorn("tests.bench.floors:stored()", FLOOR_DATABASE=flr)
                ours = service(DATABASE_URL=address, FRAMING_QUOTES_LOG_LEVEL="warning")
                with bare as (echo, echo_pid), stored as (store, store_pid), ours as (port, pid, _):
                    everything = set(range(os.cpu_count() or 1))
                    os.sched_setaffinity(0, sorted(everything)[cores:] or everything)
                    runs = {
                        "echo": (echo, echo_pid, [http_post("/echo", b) for b in bodies], 4),
                        "insert": (store, store_pid, [http_post("/store", b) for b in bodies], 2),
                        "estimate": (
                            port,
                            pid,
                            [http_post("/v1/estimates", b, key) for b in bodies],
                            2,
                        ),
                        "quote": (port, pid, [http_post("/v1/quotes", b, key) for b in bodies], 1),
                    }
                    row: dict[str, object] = {"cores": cores}
                    for what, (at, server, sent, times) in runs.items():
                        total, before = times * requests * cores, cpu_seconds(server)
                        found = [rate(at, sent, total, cores) for _ in range(rounds)]
                        sent_in_all = rounds * (total + 5 * max(2, 8 * cores // LOADERS) * LOADERS)
                        spent = (cpu_seconds(server) - before) / sent_in_all
                        row[what] = round(statistics.median(found))
                        row[f"{what} µs"] = round(spent * 1e6)
                    for what in ("echo", "quote"):
                        at, _, sent, _ = runs[what]
                        steady = 0.7 * float(str(row[what]))
                        late = p99(at, sent, steady, int(5 * steady))
                        row[f"{what} p99 ms"] = round(late * 1000, 1)
                    print(json.dumps(row, ensure_ascii=False), flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cores", type=int, nargs="*", default=[1, 2, 4, 8])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--requests", type=int, default=1500)
    parser.add_argument("--sqlite", action="store_true")
    given = parser.parse_args()
    for many in given.cores:
        measure(many, given.rounds, given.requests, on_postgres=not given.sqlite)
