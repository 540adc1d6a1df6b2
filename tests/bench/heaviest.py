"""Eight of the heaviest requests that a form's key may send, at once, to one worker.

    python -m tests.bench.heaviest [--callers 8]

For each kind of request: the bytes that are sent and answered, the seconds of the slowest, and the
most memory that the worker held meanwhile. It ends with 1 where that is more than `MOST_MB`, or
where one takes longer than a worker may be silent.
"""

from __future__ import annotations

import argparse
import http.client
import json
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from tests.bench.servers import children, resident_mb, service
from tests.bench.shops import prepared

MOST_MB = 160
MOST_SECONDS = 30.0
LINES = 50
"""Lines of a file; more would be refused, since they count as more requests than a minute has."""


def windows(jobs: int, mats: int = 6, rows: int = 10, border: str = "20 mm") -> dict[str, Any]:
    """Jobs with as many windows as one may have, in as many mats."""
    one = {
        "artwork": {"width": "20 mm", "height": "20 mm"},
        "presentation": "overlap",
        "overlap": "2 mm",
        "openings": {"arrangement": "grid", "rows": rows, "columns": 10, "gutter": "3 mm"},
        "mats": [{"board": "BRD-1204", "border": border}]
        + [{"board": "BRD-1204", "reveal": "1 mm"}] * (mats - 1),
        "frames": [{"moulding": "MLD-LIN050-GLT"}] * 4,
    }
    return {"jobs": [one] * jobs}


def kinds(caller: int) -> dict[str, tuple[str, bytes, str]]:
    """Each kind of request as path, body and content type; no two callers send the same."""
    one = windows(1, border=f"{20 + caller} mm")
    many = (windows(1, border=f"{20 + caller}.{line:02} mm") for line in range(LINES))
    plain = "application/json"
    return {
        "estimate": ("/v1/estimates", _json(one), plain),
        "draft": ("/v1/quotes", _json(one), plain),
        "sweep": ("/v1/estimates/sweep", _json({"job": one["jobs"][0], "over": "glazing"}), plain),
        "bulk": ("/v1/estimates/bulk", b"\n".join(map(_json, many)), "application/x-ndjson"),
    }


def measure(callers: int) -> int:
    """Print a line for each kind; return 1 if one takes too much."""
    wrong = 0
    with tempfile.TemporaryDirectory() as name:
        address, key = prepared(Path(name), "price")
        settings = {"FRAMING_QUOTES_WORKERS": "1", "FRAMING_QUOTES_RATE_PER_MINUTE": "6000"}
        with service(DATABASE_URL=address, FRAMING_QUOTES_LOG_LEVEL="warning", **settings) as (
            port,
            pid,
            _,
        ):
            (worker,) = children(pid)
            for kind in kinds(0):
                before, most, found = _at_once(port, worker, key, kind, callers)
                sent = len(kinds(0)[kind][1])
                slowest = max(seconds for seconds, _ in found)
                largest = max(size for _, size in found)
                wrong |= most > MOST_MB or slowest > MOST_SECONDS
                print(
                    f"{kind:9} {sent:9,} bytes sent, {largest:11,} answered, slowest of "
                    f"{callers}: {slowest:5.1f} s, memory {before:.0f} to {most:.0f} MB"
                )
    return int(wrong)


def _at_once(
    port: int, worker: int, key: str, kind: str, callers: int
) -> tuple[float, float, list[tuple[float, int]]]:
    """The worker's memory before, its peak, and each caller's seconds and bytes."""
    before = resident_mb(worker)
    Path(f"/proc/{worker}/clear_refs").write_text("5")  # the peak counts from here on
    with ThreadPoolExecutor(callers) as pool:
        asked = [pool.submit(_ask, port, key, *kinds(n)[kind]) for n in range(callers)]
        found = [each.result() for each in asked]
    return before, resident_mb(worker, "VmHWM"), found


def _ask(port: int, key: str, path: str, body: bytes, kind: str) -> tuple[float, int]:
    """The seconds and the bytes of one answer, read piece by piece as a form reads it."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    began = time.perf_counter()
    connection.request("POST", path, body, {"Authorization": f"Bearer {key}", "Content-Type": kind})
    answer = connection.getresponse()
    assert answer.status in (200, 201), answer.read()
    size = sum(map(len, _pieces(answer)))
    connection.close()
    return time.perf_counter() - began, size


def _pieces(answer: Any) -> Iterator[bytes]:
    while piece := answer.read(65_536):
        yield piece


def _json(document: Any) -> bytes:
    return json.dumps(document).encode()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--callers", type=int, default=8)
    raise SystemExit(measure(parser.parse_args().callers))
