"""Callers who hardly send, and what never becomes a request: neither holds a thread of the service.

A moment of `tests.faults.slow_senders`, which measures; here it is only told apart whether others
are answered at all.
"""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any

import pytest
import requests

from service.demo import demo_document
from tests.deploy.live import Served, new_key, served, set_up
from tests.faults.hardly_sending import FORM, JSON, KEY, KINDS

SENDERS = 40
THREADS = 2


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    url = f"sqlite:///{tmp_path_factory.mktemp('slow') / 'slow.sqlite3'}"
    set_up(url)
    return url


@pytest.fixture(scope="module")
def key(database: str) -> str:
    return new_key(database, "counter")


@pytest.fixture(scope="module")
def live(database: str) -> Iterator[Served]:
    few = {"FRAMING_QUOTES_THREADS": str(THREADS), "FRAMING_QUOTES_READ_SECONDS": "4"}
    with served(database, **few) as running:
        yield running


def _connected(live: Served) -> socket.socket:
    return socket.create_connection(("127.0.0.1", int(live.base.rsplit(":", 1)[1])), timeout=30)


def _read(sock: socket.socket) -> bytes:
    got = b""
    while part := sock.recv(65_536):
        got += part
    return got


def _sent(live: Served, sent: bytes) -> bytes:
    """All that comes back until the service ends the connection."""
    with _connected(live) as sock:
        sock.sendall(sent)
        return _read(sock)


def _problem(answer: bytes) -> dict[str, Any]:
    head, _, body = answer.partition(b"\r\n\r\n")
    assert b"content-type: application/problem+json" in head.lower()
    assert b"x-request-id: " in head.lower()
    document: dict[str, Any] = json.loads(body)
    assert head.startswith(f"HTTP/1.1 {document['status']} ".encode())
    document["type"] = document["type"].rpartition(":")[2]
    return document


@pytest.mark.parametrize("kind", KINDS)
def test_others_are_answered_beside_many_slow_senders(live: Served, key: str, kind: str) -> None:
    """With as many slow senders as there are threads nobody was answered any more."""
    headers = {"Authorization": f"Bearer {key}"}
    with ExitStack() as stack:
        for _ in range(SENDERS):
            stack.enter_context(_connected(live)).sendall(KINDS[kind].encode())
        for _ in range(5):
            body = demo_document("jobs/harbour_etching")
            made = requests.post(
                f"{live.base}/v1/estimates", json=body, headers=headers, timeout=30
            )
            assert made.status_code == 200
        assert requests.get(f"{live.base}/healthz", timeout=30).ok


def test_a_slow_sender_with_a_key_holds_no_thread_and_is_answered(live: Served, key: str) -> None:
    body = json.dumps(demo_document("jobs/harbour_etching"), default=str).encode()
    head = (
        f"POST /v1/estimates HTTP/1.1\r\nHost: till\r\n{JSON}Authorization: Bearer {key}\r\n"
        f"Content-Length: {len(body)}\r\nConnection: close\r\n\r\n"
    ).encode()
    with ExitStack() as stack:
        slow = [stack.enter_context(_connected(live)) for _ in range(3 * THREADS)]
        for each in slow:
            each.sendall(head + body[:100])
        time.sleep(0.3)
        assert requests.get(f"{live.base}/healthz", timeout=30).ok
        for each in slow:
            each.sendall(body[100:])
            assert _read(each).startswith(b"HTTP/1.1 200 ")


@pytest.mark.parametrize("kind", ["half a head", "a form's body"])
def test_what_does_not_come_in_time_is_told_so(live: Served, kind: str) -> None:
    began = time.monotonic()
    assert _problem(_sent(live, KINDS[kind].encode()))["type"] == "too_slow"
    assert time.monotonic() - began > 3


@pytest.mark.parametrize(
    ("head", "status", "code"),
    [
        (f"POST /v1/quotes HTTP/1.1\r\nHost: a\r\n{JSON}", 401, "not_known"),
        (f"POST /v1/estimates/bulk HTTP/1.1\r\nHost: a\r\n{JSON}{KEY}", 401, "not_known"),
        (f"POST /summary HTTP/1.1\r\nHost: a\r\n{FORM}", 413, "body_too_large"),
    ],
)
def test_a_body_that_may_not_be_sent_is_refused_before_it_comes(
    live: Served, head: str, status: int, code: str
) -> None:
    """Half a megabyte is announced and never sent; the caller who asks first need not send it."""
    announced = f"{head}Expect: 100-continue\r\nContent-Length: 500000\r\n\r\n{{"
    problem = _problem(_sent(live, announced.encode()))
    assert (problem["status"], problem["type"]) == (status, code)


def test_a_body_longer_than_it_may_be_is_refused_while_it_comes(live: Served, key: str) -> None:
    head = (
        f"POST /v1/estimates HTTP/1.1\r\nHost: a\r\n{JSON}Authorization: Bearer {key}\r\n"
        "Transfer-Encoding: chunked\r\n\r\n"
    ).encode()
    chunk = b"10000\r\n" + b" " * 65_536 + b"\r\n"
    with _connected(live) as sock:
        sock.sendall(head)
        try:
            for _ in range(40):  # 2.5 MiB, and no end
                sock.sendall(chunk)
        except OSError:
            pass
        assert _problem(_read(sock))["type"] == "body_too_large"


def test_a_caller_who_asks_first_is_told_to_go_on(live: Served, key: str) -> None:
    body = json.dumps(demo_document("jobs/harbour_etching"), default=str).encode()
    head = (
        f"POST /v1/estimates HTTP/1.1\r\nHost: a\r\n{JSON}Authorization: Bearer {key}\r\n"
        f"Expect: 100-continue\r\nContent-Length: {len(body)}\r\nConnection: close\r\n\r\n"
    ).encode()
    with _connected(live) as sock:
        sock.sendall(head)
        assert sock.recv(100) == b"HTTP/1.1 100 Continue\r\n\r\n"
        sock.sendall(body)
        assert _read(sock).startswith(b"HTTP/1.1 200 ")


def test_chunks_and_requests_one_after_the_other_are_read(live: Served, key: str) -> None:
    """Two requests sent at once, the first in chunks of a few bytes, are answered in turn."""
    body = json.dumps(demo_document("jobs/harbour_etching"), default=str).encode()
    parts = [body[at : at + 37] for at in range(0, len(body), 37)]
    chunks = b"".join(b"%x\r\n%s\r\n" % (len(part), part) for part in parts) + b"0\r\n\r\n"
    head = (
        f"POST /v1/estimates HTTP/1.1\r\nHost: a\r\n{JSON}Authorization: Bearer {key}\r\n"
        "Transfer-Encoding: chunked\r\n\r\n"
    ).encode()
    then = b"GET /healthz HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n"
    with _connected(live) as sock:
        sent = head + chunks + then
        for at in range(0, len(sent), 700):
            sock.sendall(sent[at : at + 700])
        first, _, second = _read(sock).rpartition(b"HTTP/1.1 ")
    assert first.startswith(b"HTTP/1.1 200 ")
    assert b'"totals"' in first
    assert second.startswith(b"200 ")
    assert second.endswith(b'{"status":"ok"}')


MANY = "X: a\r\n" * 70
ENDLESS = "X: aaaaaaaa\r\n" * 5_000
CHUNKED = "POST /v1/estimates HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n"


@pytest.mark.parametrize(
    ("sent", "status", "code"),
    [
        (f"{CHUNKED}{JSON}\r\nzz\r\n", 400, "bad_request"),
        (f"{CHUNKED}{JSON}\r\n-1\r\n", 400, "bad_request"),
        (f"{CHUNKED}{JSON}\r\n2\r\n{{}}xx", 400, "bad_request"),
        ("GET / HTTP/1.1\r\nHost: a\r\nContent-Length: x\r\n\r\n", 400, "bad_request"),
        (f"{CHUNKED}Content-Length: 3\r\n\r\n", 400, "bad_request"),
        ("GET / HTTP/1.1\nHost: a\n\n", 400, "bad_request"),
        ("nonsense\r\n\r\n", 400, "bad_request"),
        ("GET / HTTP/1.1\r\nno colon\r\n\r\n", 400, "bad_request"),
        ("GET / HTTP/1.1\r\nHost: a\r\nExpect: 200-more\r\n\r\n", 417, "bad_request"),
        ("GET / HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: x\r\n\r\n", 501, "bad_request"),
        ("GET / HTTP/9.9\r\nHost: a\r\n\r\n", 505, "bad_request"),
        (f"GET /{'a' * 9_000} HTTP/1.1\r\nHost: a\r\n\r\n", 414, "head_too_large"),
        (f"GET / HTTP/1.1\r\nHost: a\r\nX: {'a' * 9_000}\r\n\r\n", 431, "head_too_large"),
        (f"GET / HTTP/1.1\r\nHost: a\r\n{MANY}\r\n", 431, "head_too_large"),
        (f"GET / HTTP/1.1\r\nHost: a\r\n{ENDLESS}", 431, "head_too_large"),
    ],
)
def test_what_is_not_a_request_is_a_problem_document(
    live: Served, sent: str, status: int, code: str
) -> None:
    """RFC 9112 says what is to be refused, RFC 9457 how it is told."""
    problem = _problem(_sent(live, sent.encode()))
    assert (problem["status"], problem["type"]) == (status, code)
