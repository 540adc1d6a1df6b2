"""Jobs a second of one bulk request against single requests, on one worker.

    python -m tests.bench.bulk [--jobs 10000] [--rounds 5]

One service with one worker answers both in turn. All jobs are different: two mats, glazing and a
frame in as many sizes as there are jobs. Single requests are sent over eight connections that stay
open, so that the worker never waits. "A core" is a second of the worker's own processor time, which
depends little on what else the machine does. A neighbour on the same silicon only ever makes a
round slower, so beside the median the quickest rounds are compared; they say most.

`file` has no two jobs alike. `night` is what a shop works out again every night: the same jobs
under other references, each in one of four hundred sizes.
"""

from __future__ import annotations

import argparse
import copy
import http.client
import json
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from service.demo import demo_document
from tests.bench.load import http_post, load
from tests.bench.servers import children, cpu_seconds, resident_mb, service
from tests.bench.shops import prepared

SINGLES = 1_500
A_PIECE = 1 << 20


def jobs(many: int, sizes: int) -> list[bytes]:
    """Documents in so many sizes, each with a reference of its own."""
    made = []
    for step in range(many):
        document = copy.deepcopy(demo_document("jobs/harbour_etching"))
        document["reference"] = f"N-{step}"
        artwork = document["jobs"][0]["artwork"]
        size = step % sizes
        artwork["width"] = f"{8 + size % 160 // 16} {size % 16}/16"
        artwork["height"] = f"{10 + size // 1280} {size // 160 % 8}/8"
        made.append(json.dumps(document).encode())
    return made


def bulk(port: int, key: str, body: bytes, show: str) -> tuple[int, int]:
    """Send a bulk request; how many lines came back, and how many of them were refused."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=600)
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/x-ndjson"}
    connection.request("POST", f"/v1/estimates/bulk?show={show}", body, headers)
    answer = connection.getresponse()
    assert answer.status == 200, answer.read()
    # In large pieces, so that this program takes little from the core beside the worker's.
    lines, refused, held = 0, 0, b""
    while piece := answer.read(A_PIECE):
        *whole, held = (held + piece).split(b"\n")
        lines += len(whole)
        refused += sum(b'"type":"tag:' in line[:60] for line in whole)
    connection.close()
    return lines, refused


def timed(pid: int, many: int, work: Callable[[], None]) -> float:
    """How many jobs a second of processor time `work` does, where it does so many."""
    before = cpu_seconds(pid)
    work()
    return many / (cpu_seconds(pid) - before)


def measure(many: int, rounds: int) -> None:
    """Print the table."""
    files = {"file": jobs(many, many), "night": jobs(many, 400)}
    with tempfile.TemporaryDirectory() as name:
        address, key = prepared(Path(name), "price")
        quiet = {"FRAMING_QUOTES_WORKERS": "1", "FRAMING_QUOTES_LOG_LEVEL": "warning"}
        with service(DATABASE_URL=address, **quiet) as (port, pid, _):
            sent = [http_post("/v1/estimates", one, key) for one in files["file"][:SINGLES]]
            load(port, sent, 200)
            found: dict[str, list[float]] = {}
            (worker,) = children(pid)
            before = resident_mb(worker)
            for _ in range(rounds):
                single = timed(pid, SINGLES, lambda: _singles(port, sent))
                found.setdefault("single requests", []).append(single)
                for kind, lines in files.items():
                    for show in ("whole", "totals"):
                        body = b"\n".join(lines)

                        def work(body: bytes = body, show: str = show) -> None:
                            assert bulk(port, key, body, show) == (many, 0)

                        run = timed(pid, many, work)
                        found.setdefault(f"bulk, {kind}, {show}", []).append(run)
                lines = Path(name) / "file.ndjson"
                lines.write_bytes(b"\n".join(files["file"]))
                for named, more in (("all cores", ()), ("one process", ("--processes", "1"))):
                    run = _command(lines, many, more)
                    found.setdefault(f"command line, {named}", []).append(run)
            after = resident_mb(worker)
    _table(found)
    print(f"worker's memory: {before:.0f} MB before, {after:.0f} MB after the last file")


def _command(lines: Path, many: int, more: tuple[str, ...]) -> float:
    """The same file by the command line, its start included."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    words = [sys.executable, "-m", "service", "estimate", "--bulk", str(lines), *more]
    subprocess.run(words, stdout=subprocess.DEVNULL, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
    return many / spent


def _singles(port: int, sent: list[bytes]) -> None:
    assert load(port, sent, SINGLES).refused == 0


def _table(found: dict[str, list[float]]) -> None:
    singles = found["single requests"]
    for name, runs in found.items():
        best = max(runs)
        each = statistics.median(run / single for run, single in zip(runs, singles, strict=True))
        ratio = best / max(singles)
        print(f"{name:25} {statistics.median(runs):6.0f} a core, {best:6.0f} at best", end="; ")
        print(f"{each:5.2f} x single in the same round, {ratio:5.2f} x at best")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    measure(given.jobs, given.rounds)
