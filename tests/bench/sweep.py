"""A sweep of one job over 1,000 mouldings: processor time of one core, and time to the answer.

    python -m tests.bench.sweep [--mouldings 1000] [--rounds 20]

Target: under 60 ms of one core.
"""

from __future__ import annotations

import argparse
import json
import statistics
import tempfile
import time
from pathlib import Path

import requests

from service.demo import demo_document
from tests.bench.servers import cpu_seconds, service
from tests.bench.shops import prepared


def measure(mouldings: int, rounds: int) -> None:
    """Print the figures."""
    job = demo_document("jobs/harbour_etching")["jobs"][0]
    body = json.dumps({"job": job, "over": "mouldings"})
    with tempfile.TemporaryDirectory() as name:
        address, key = prepared(Path(name), "price", mouldings)
        with service(DATABASE_URL=address) as (port, pid, _), requests.Session() as session:
            session.headers["Authorization"] = f"Bearer {key}"
            session.headers["Content-Type"] = "application/json"
            url = f"http://127.0.0.1:{port}/v1/estimates/sweep"
            for _ in range(6):
                answer = session.post(url, body, timeout=30)
            answer.raise_for_status()
            tried = len(answer.json()["choices"]) + len(answer.json()["refused"])
            waits, before = [], cpu_seconds(pid)
            for _ in range(rounds):
                start = time.perf_counter()
                session.post(url, body, timeout=30).raise_for_status()
                waits.append(time.perf_counter() - start)
            spent = (cpu_seconds(pid) - before) / rounds
    priced = len(answer.json()["choices"])
    print(f"{tried} mouldings, {priced} of them priced, {len(answer.content)} bytes")
    print(f"processor  {spent * 1e3:6.1f} ms  (target 60 for 1,000)")
    print(f"answer     {statistics.median(waits) * 1e3:6.1f} ms")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mouldings", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=20)
    given = parser.parse_args()
    measure(given.mouldings, given.rounds)
