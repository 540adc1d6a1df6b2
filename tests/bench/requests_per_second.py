"""Requests a second of an estimate and of a stored quote against bare and validated echoes.

    python -m tests.bench.requests_per_second [--requests 6000] [--rounds 3]

The document is two mats, glazing and a frame; 400 documents of different sizes are sent in turn, so
that no answer is remembered from the one before. Each round measures every contestant, and the
median of the rounds counts.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from pathlib import Path

from tests.bench.load import Load, http_post, load
from tests.bench.servers import children, cpu_seconds, gunicorn, resident_mb, service
from tests.bench.shops import documents, prepared

FLOOR = "tests.bench.floors"


def measure(requests: int, rounds: int) -> None:
    """Print the table."""
    bodies = documents(400)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        address, key = prepared(folder, "counter")
        _, public = prepared(folder, "price")
        floor = {"FLOOR_DATABASE": str(folder / "floor.sqlite3")}
        with (
            gunicorn(f"{FLOOR}:bare()") as (bare, bare_pid),
            gunicorn(f"{FLOOR}:validated()") as (validated, validated_pid),
            gunicorn(f"{FLOOR}:stored()", **floor) as (stored, stored_pid),
            service(DATABASE_URL=address) as (ours, pid, first),
        ):
            runs = {
                "bare Flask echo": (
                    bare,
                    bare_pid,
                    [http_post("/echo", b) for b in bodies],
                    requests,
                ),
                "flask-smorest echo": (
                    validated,
                    validated_pid,
                    [http_post("/echo", b) for b in bodies],
                    requests,
                ),
                "estimate": (
                    ours,
                    pid,
                    [http_post("/v1/estimates", b, public) for b in bodies],
                    requests,
                ),
                "estimate with costs": (
                    ours,
                    pid,
                    [http_post("/v1/estimates", b, key) for b in bodies],
                    requests,
                ),
                "bare durable insert": (
                    stored,
                    stored_pid,
                    [http_post("/store", b) for b in bodies],
                    requests // 4,
                ),
                "stored quote": (
                    ours,
                    pid,
                    [http_post("/v1/quotes", b, key) for b in bodies],
                    requests // 4,
                ),
            }
            found: dict[str, list[Load]] = {name: [] for name in runs}
            spent: dict[str, float] = dict.fromkeys(runs, 0.0)
            for port, _, sent, _ in runs.values():
                load(port, sent, 200)
            for _ in range(rounds):
                for what, (port, server, sent, total) in runs.items():
                    before = cpu_seconds(server)
                    found[what].append(load(port, sent, total))
                    spent[what] += (cpu_seconds(server) - before) / total / rounds
                    time.sleep(0.2)
            _table(found, spent)
            print(f"\nfirst answer after start: {first:.2f} s")
            print("workers' memory:", ", ".join(f"{resident_mb(p):.0f} MB" for p in children(pid)))


def _table(found: dict[str, list[Load]], spent: dict[str, float]) -> None:
    rate = {name: statistics.median(run.per_second for run in runs) for name, runs in found.items()}
    for name, runs in found.items():
        assert not sum(run.refused for run in runs), f"{name} refused some"
        print(
            f"{name:22} {rate[name]:8.0f} a second, {spent[name] * 1e6:6.0f} µs of processor each"
        )
    print(
        f"\nestimate / flask-smorest echo  {rate['estimate'] / rate['flask-smorest echo']:.2f}"
        "   (target 1.00)"
    )
    print(
        f"estimate / bare Flask echo     {rate['estimate'] / rate['bare Flask echo']:.2f}"
        "   (target 0.35)"
    )
    print(
        f"stored quote / bare insert     {rate['stored quote'] / rate['bare durable insert']:.2f}"
        "   (target 0.60)"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=6000)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    measure(given.requests, given.rounds)
