"""The memory of the workers over 20,000 requests: under 120 MB each, and flat.

    python -m tests.bench.memory [--requests 20000]

Estimates of many sizes, with a stored quote every tenth time. The first tenth of the requests warms
the caches up; the memory after it and at the end are compared.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.bench.load import http_post, load
from tests.bench.servers import children, resident_mb, service
from tests.bench.shops import documents, prepared


def measure(requests: int) -> None:
    """Print the workers' memory as the requests go by."""
    bodies = documents(400)
    with tempfile.TemporaryDirectory() as name:
        address, key = prepared(Path(name), "counter")
        sent = [
            http_post("/v1/quotes" if n % 10 == 0 else "/v1/estimates", body, key)
            for n, body in enumerate(bodies)
        ]
        with service(DATABASE_URL=address) as (port, pid, _):
            print(f"{0:6} requests: {_shown(pid)}")
            for tenth in range(1, 11):
                done = load(port, sent, requests // 10)
                assert not done.refused
                print(f"{tenth * requests // 10:6} requests: {_shown(pid)}")


def _shown(pid: int) -> str:
    return ", ".join(f"{resident_mb(child):.1f} MB" for child in children(pid))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=20_000)
    measure(parser.parse_args().requests)
