"""`framing-quotes serve` as it runs in a shop: workers that count together, lines, a quiet end."""

from __future__ import annotations

import json
import os
import signal
import socket
import time
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
import requests
from prometheus_client.parser import text_string_to_metric_families

from service.demo import demo_document
from tests.deploy.live import Served, new_key, served, set_up
from tests.waiting import PATIENCE, wait_for


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    url = f"sqlite:///{tmp_path_factory.mktemp('serving') / 'serving.sqlite3'}"
    set_up(url)
    return url


@pytest.fixture
def live(database: str, tmp_path: Path) -> Iterator[Served]:
    with served(database, tmp_path / "log", FRAMING_QUOTES_WORKERS="2") as running:
        yield running


def _counted(live: Served) -> float:
    text = requests.get(f"{live.base}/metrics", timeout=PATIENCE).text
    return sum(
        sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
        if sample.name == "framing_quotes_requests_total"
        and sample.labels == {"method": "GET", "route": "/v1/quotes", "status": "401"}
    )


def _workers(live: Served) -> list[int]:
    children = Path(f"/proc/{live.process.pid}/task/{live.process.pid}/children")
    return [int(pid) for pid in children.read_text(encoding="ascii").split()]


def test_workers_count_together_and_forget_nothing_when_one_is_replaced(live: Served) -> None:
    """A worker that dies leaves its counts to the next one of its slot."""
    if not Path("/proc/self/task").is_dir():
        pytest.skip("the workers' process ids are read from /proc, which is not here")
    for _ in range(20):  # each on a connection of its own, so that both workers get some
        requests.get(f"{live.base}/v1/quotes", timeout=PATIENCE)
    assert [_counted(live) for _ in range(6)] == [20] * 6
    first, second = sorted(_workers(live))
    os.kill(first, signal.SIGKILL)

    def replaced() -> bool:
        now = _workers(live)
        return len(now) == 2 and first not in now and second in now

    wait_for(replaced)
    for _ in range(10):
        requests.get(f"{live.base}/v1/quotes", timeout=PATIENCE)
    assert [_counted(live) for _ in range(6)] == [30] * 6


def test_workers_count_a_keys_requests_as_one(database: str, tmp_path: Path) -> None:
    """So many a minute are so many, whichever worker takes them, and one dies in between."""
    limits = {"FRAMING_QUOTES_WORKERS": "3", "FRAMING_QUOTES_RATE_PER_MINUTE": "12"}
    headers = {"Authorization": f"Bearer {new_key(database, 'counter')}"}
    with served(database, tmp_path / "log", **limits) as live:
        address = f"{live.base}/v1/shop"
        began = time.monotonic()
        answers = [requests.get(address, headers=headers, timeout=10) for _ in range(8)]
        if Path("/proc/self/task").is_dir():
            os.kill(_workers(live)[0], signal.SIGKILL)
        answers += [requests.get(address, headers=headers, timeout=10) for _ in range(12)]
        earned = int(time.monotonic() - began) // 5
    passed = [answer for answer in answers if answer.status_code == 200]
    assert 12 <= len(passed) <= 12 + earned
    left = [int(answer.headers["RateLimit"].split(";")[1][2:]) for answer in passed[:12]]
    assert left[0] == 11
    assert all(one - other in (0, 1) for one, other in pairwise(left))


def test_every_line_is_json_and_nothing_sent_is_in_it(live: Served, database: str) -> None:
    key = new_key(database, "counter")
    headers = {"Authorization": f"Bearer {key}", "X-Request-Id": "till-7.42"}
    document = demo_document("jobs/harbour_etching")
    answer = requests.post(
        f"{live.base}/v1/quotes", json=document, headers=headers, timeout=PATIENCE
    )
    assert answer.status_code == 201
    requests.get(f"{live.base}/v1/quotes?reference=W-1021", headers=headers, timeout=PATIENCE)
    lines = [json.loads(line) for line in live.lines()]
    assert any("Listening at" in line["message"] for line in lines)
    stored, listed = [line for line in lines if line["message"] == "answered"]
    assert stored["request"] == "till-7.42"
    assert stored["key"] == key.split("_")[1]
    assert (stored["route"], stored["status"]) == ("/v1/quotes", 201)
    assert stored["ms"] > 0
    assert listed["method"] == "GET"
    log = "\n".join(live.lines())
    assert key.split("_", 2)[2] not in log
    assert not any(word in log for word in ("Okafor", "example.com", "W-1021"))


def test_a_request_under_way_is_answered_when_the_service_is_stopped(
    live: Served, database: str
) -> None:
    """The signal comes while the body is still being sent; the rest of it is waited for.

    The answer to `Expect: 100-continue` (RFC 9110, 10.1.1) tells that a worker has the request.
    """
    body = json.dumps(demo_document("jobs/harbour_etching"), default=str).encode()
    head = (
        "POST /v1/quotes HTTP/1.1\r\nHost: till\r\nContent-Type: application/json\r\n"
        f"Authorization: Bearer {new_key(database, 'counter')}\r\n"
        f"Content-Length: {len(body)}\r\nExpect: 100-continue\r\nConnection: close\r\n\r\n"
    ).encode()
    port = int(live.base.rsplit(":", 1)[1])
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as till:
        till.sendall(head)
        assert till.recv(65_536).startswith(b"HTTP/1.1 100 ")
        till.sendall(body[:100])
        live.process.send_signal(signal.SIGTERM)
        wait_for(lambda: any("signal: term" in line for line in live.lines()))
        assert live.process.poll() is None
        till.sendall(body[100:])
        answer = b""
        while part := till.recv(65_536):
            answer += part
    assert answer.startswith(b"HTTP/1.1 201 ")
    assert json.loads(answer.split(b"\r\n\r\n", 1)[1])["number"]
    assert live.process.wait(PATIENCE) == 0


def test_a_service_that_leaves_says_so_and_works_on_until_it_ends(
    database: str, tmp_path: Path
) -> None:
    most = str(int(PATIENCE))  # so that it cannot be over before everything is asked
    with served(database, tmp_path / "log", FRAMING_QUOTES_DRAIN_SECONDS=most) as live:
        headers = {"Authorization": f"Bearer {new_key(database, 'counter')}"}
        live.process.send_signal(signal.SIGTERM)
        wait_for(lambda: not requests.get(f"{live.base}/readyz", timeout=PATIENCE).ok)
        answer = requests.get(f"{live.base}/readyz", timeout=PATIENCE)
        assert answer.status_code == 503
        assert "about to stop" in answer.json()["detail"]
        assert requests.get(f"{live.base}/healthz", timeout=PATIENCE).ok
        body = demo_document("jobs/harbour_etching")
        made = requests.post(f"{live.base}/v1/quotes", json=body, headers=headers, timeout=PATIENCE)
        assert made.status_code == 201
        live.process.kill()


def test_a_service_that_leaves_ends_when_it_said(database: str, tmp_path: Path) -> None:
    with served(database, tmp_path / "log", FRAMING_QUOTES_DRAIN_SECONDS="1") as live:
        told = time.monotonic()
        live.process.send_signal(signal.SIGTERM)
        assert live.process.wait(PATIENCE) == 0
        assert time.monotonic() - told >= 1
