"""`framing-quotes deliver` as it runs beside the servers, to a real receiver."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

import pytest
from standardwebhooks.webhooks import Webhook

from service.wiring import utc_now
from tests.api.demo_copies import SET
from tests.api.world import World, job, make_world
from tests.waiting import PATIENCE, wait_for

SECRET = SET["FRAMING_QUOTES_WEBHOOK_SECRET"]


class Receiver(ThreadingHTTPServer):
    """The books of a shop: keep what comes; /moved sends on to /books."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.got: list[tuple[str, dict[str, str], bytes]] = []


class Handler(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.got.append((self.path, dict(self.headers), body))
        self.send_response(302 if self.path == "/moved" else 204)
        self.send_header("Location", "/books")
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    server = Receiver()
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield server
    server.shutdown()
    thread.join(10)
    server.server_close()


@pytest.fixture
def hooked(sqlite_url: str) -> Iterator[World]:
    world = make_world(sqlite_url, FRAMING_QUOTES_WEBHOOK_LOOPBACK="yes")
    world.clock.now = utc_now()  # the worker looks at the real clock
    yield world
    world.wiring.close()


def _environment(world: World) -> dict[str, str]:
    return {
        **os.environ,
        "DATABASE_URL": world.wiring.settings.database_url,
        "FRAMING_QUOTES_WEBHOOK_SECRET": SECRET,
        "FRAMING_QUOTES_WEBHOOK_LOOPBACK": "yes",
    }


def _hook(world: World, receiver: Receiver, path: str) -> dict[str, str]:
    url = f"http://127.0.0.1:{receiver.server_port}{path}"
    made = world.post("/v1/webhooks", {"url": url, "kinds": ["quote.created"]}, "admin")
    assert made.status_code == 201, made.get_data(as_text=True)
    return dict(made.get_json())


def test_what_is_due_is_sent_signed_and_redirects_are_not_followed(
    hooked: World, receiver: Receiver
) -> None:
    books, moved = (_hook(hooked, receiver, path) for path in ("/books", "/moved"))
    hooked.post("/v1/quotes", job())
    done = subprocess.run(
        [sys.executable, "-m", "service", "deliver", "--once"],
        env=_environment(hooked),
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE,
    )
    assert done.returncode == 0, done.stderr
    assert sorted(path for path, _, _ in receiver.got) == ["/books", "/moved"]
    (headers, body) = next(rest for path, *rest in receiver.got if path == "/books")
    assert Webhook(books["secret"]).verify(body, headers)["type"] == "quote.created"
    for hook, status, answer in ((books, "delivered", 204), (moved, "pending", 302)):
        place = f"/v1/webhooks/{hook['id']}/messages"
        (row,) = hooked.ask("GET", place, "admin").get_json()["items"]
        (attempt,) = hooked.ask("GET", f"{place}/{row['id']}", "admin").get_json()["log"]
        assert (row["status"], attempt["answer_status"]) == (status, answer)
    assert SECRET not in done.stdout + done.stderr
    assert books["secret"] not in done.stdout + done.stderr


def test_a_worker_goes_on_until_it_is_told_to_stop(hooked: World, receiver: Receiver) -> None:
    _hook(hooked, receiver, "/books")
    worker = subprocess.Popen(
        [sys.executable, "-m", "service", "deliver"],
        env=_environment(hooked),
        stderr=subprocess.DEVNULL,
    )
    try:
        for expected in (1, 2):
            hooked.post("/v1/quotes", job())
            wait_for(lambda n=expected: len(receiver.got) >= n or worker.poll() is not None)
            assert len(receiver.got) == expected
        worker.send_signal(signal.SIGTERM)
        assert worker.wait(PATIENCE) == 0
    finally:
        if worker.poll() is None:
            worker.kill()
            worker.wait(10)
