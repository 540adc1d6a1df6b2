"""Stored quotes a second against a bare Flask handler that inserts its body durably.

    python -m tests.bench.stored_quotes [--rounds 5] [--sync 0 0.5 1 2 5] [--postgres]

Both keep their rows in a database of the same kind on the same disk. `--sync` has every sync last
so many milliseconds longer than here, for both alike (SQLite only); see `slow_sync`. The documents
are those of `requests_per_second`.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
from contextlib import nullcontext
from pathlib import Path

from tests.bench.floors import opened
from tests.bench.load import http_post, load
from tests.bench.servers import cpu_seconds, gunicorn, postgres, service
from tests.bench.shops import documents, prepared
from tests.bench.slow_sync import slow_sync

BARE, OURS = 800, 500
"""Requests of a round."""


def measure(folder: Path, rounds: int, sync: float, *, on_postgres: bool) -> None:
    """Print a line of the table."""
    slow = slow_sync(folder, sync)
    bodies = documents(400)
    here = ["", str(folder / "floor.sqlite3")]  # ours, and the floor's
    with postgres(folder, "ours", "floor") if on_postgres else nullcontext(here) as (own, floor):
        opened(floor).close()  # makes its table
        address, key = prepared(folder, "counter", url=own)
        with (
            gunicorn("tests.bench.floors:stored()", FLOOR_DATABASE=floor, **slow) as (bare, pid),
            service(DATABASE_URL=address, FRAMING_QUOTES_LOG_LEVEL="warning", **slow) as (
                ours,
                own_pid,
                _,
            ),
        ):
            sent = {
                "bare": (bare, pid, [http_post("/store", b) for b in bodies], BARE),
                "ours": (ours, own_pid, [http_post("/v1/quotes", b, key) for b in bodies], OURS),
            }
            rates: dict[str, list[float]] = {name: [] for name in sent}
            spent = dict.fromkeys(sent, 0.0)
            for turn in range(rounds + 1):
                for name, (port, server, requests, total) in sent.items():
                    before = cpu_seconds(server)
                    found = load(port, requests, total)
                    assert not found.refused, f"{name} refused some"
                    if turn:  # the first round warms both up
                        rates[name].append(found.per_second)
                        spent[name] += (cpu_seconds(server) - before) / total / rounds
    ratio = statistics.median(o / b for o, b in zip(rates["ours"], rates["bare"], strict=True))
    told = ", ".join(
        f"{name} {statistics.median(rates[name]):5.0f}/s {spent[name] * 1e6:5.0f} µs"
        for name in sent
    )
    kind = "PostgreSQL" if on_postgres else "SQLite"
    print(f"{kind}, a sync takes {sync:3.1f} ms longer: {told}, ratio {ratio:.2f} (target 0.60)")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--sync", type=float, nargs="*", default=[0, 0.5, 1, 2, 5])
    parser.add_argument("--postgres", action="store_true")
    given = parser.parse_args()
    for milliseconds in [0.0] if given.postgres else given.sync:
        with tempfile.TemporaryDirectory() as name:
            measure(Path(name), given.rounds, milliseconds, on_postgres=given.postgres)
