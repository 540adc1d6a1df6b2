"""A PostgreSQL that stands still, and one whose rows are locked: who waits, and for how long?

    python -m tests.faults.hanging_database [SECONDS] [CALLERS]

One node of one worker. Tills store quotes and a form asks for estimates; first a session holds the
lock that all tills need, then every process of the database is stopped (SIGSTOP) and goes on
(SIGCONT). It ends with 1 where an estimate waited for the tills' lock, where anybody waited long,
or where the node did not answer again.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import requests
from sqlalchemy import create_engine, text

from service.demo import demo_document
from tests.bench.shops import prepared
from tests.faults.nodes import Node
from tests.faults.postgres import Postgres

LONGEST_ESTIMATE = 2.0
"""Seconds that an estimate may take while the tills wait for a lock, which they do for four."""
LONGEST = 14.0
"""Seconds that anybody may wait: 10 for a statement, 11 for a commit and for its outcome, or 3 for
a thread and 4 for each of two locks; and a busy machine.
"""
BACK = 10.0


class Caller(threading.Thread):
    """Asks for one thing again and again, on a connection of its own each time."""

    def __init__(self, port: int, key: str, path: str) -> None:
        super().__init__(daemon=True)
        self._address = f"http://127.0.0.1:{port}{path}"
        self._key = {"Authorization": f"Bearer {key}"}
        self._stop_asking = threading.Event()
        self.met: Counter[str] = Counter()
        self.slowest = 0.0

    def run(self) -> None:
        """Ask until told to stop."""
        body = demo_document("jobs/harbour_etching")
        while not self._stop_asking.is_set():
            began = time.monotonic()
            try:
                answer = requests.post(self._address, json=body, headers=self._key, timeout=60)
                self.met[str(answer.status_code)] += 1
            except requests.RequestException as error:
                self.met[type(error).__name__] += 1
            self.slowest = max(self.slowest, time.monotonic() - began)
            time.sleep(0.05)

    def end(self) -> None:
        """Ask no more."""
        self._stop_asking.set()
        self.join(60)


@contextmanager
def calling(node: Node, key: str, many: int) -> Iterator[tuple[list[Caller], Caller]]:
    """So many tills and one form."""
    tills = [Caller(node.port, key, "/v1/quotes") for _ in range(many)]
    form = Caller(node.port, key, "/v1/estimates")
    for each in (*tills, form):
        each.start()
    try:
        time.sleep(1)
        yield tills, form
    finally:
        for each in (*tills, form):
            each.end()


def locked(url: str, seconds: float) -> None:
    """Hold for so long what every quote needs."""
    engine = create_engine(url.replace("postgresql://", "postgresql+psycopg://"))
    with engine.begin() as connection:
        connection.execute(text("LOCK TABLE quotes IN SHARE MODE"))  # reads go on
        time.sleep(seconds)
    engine.dispose()


@contextmanager
def stopped(pid: int) -> Iterator[None]:
    """Every process of a database, standing still."""
    found = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    )
    family = [pid, *map(int, found.stdout.split())]
    for each in family:
        os.kill(each, signal.SIGSTOP)
    try:
        yield
    finally:
        for each in family:
            if Path(f"/proc/{each}").exists():
                os.kill(each, signal.SIGCONT)


def back_within(node: Node, seconds: float) -> bool:
    """Whether the node is ready again in time."""
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if requests.get(f"http://127.0.0.1:{node.port}/readyz", timeout=60).ok:
            return True
        time.sleep(0.1)
    return False


def main(seconds: float, many: int) -> int:
    """Run both, print, and say by the exit code whether anybody waited for too long."""
    place = Path(tempfile.mkdtemp(prefix="fq-hang-"))
    place.chmod(0o755)
    database = Postgres(place)
    node = Node(database.url, place / "log", FRAMING_QUOTES_REQUEST_SECONDS="30")
    try:
        _, key = prepared(place, "counter", url=database.url)
        node.start()
        with calling(node, key, many) as (tills, form):
            locked(database.url, seconds)
        _tell("rows locked", tills, form)
        waited = form.slowest > LONGEST_ESTIMATE or _slowest(tills) > LONGEST
        with calling(node, key, many) as (tills, form):
            with stopped(database.pid):
                time.sleep(seconds)
            back = back_within(node, BACK)
        _tell("database stopped", tills, form)
        hung = max(_slowest(tills), form.slowest) > LONGEST
        sys.stdout.write(f"ready again within {BACK:g} s: {back}\n")
        return int(waited or hung or not back)
    finally:
        node.kill()
        database.stop()
        shutil.rmtree(place, ignore_errors=True)


def _slowest(callers: list[Caller]) -> float:
    return max(each.slowest for each in callers)


def _tell(what: str, tills: list[Caller], form: Caller) -> None:
    met = sum((each.met for each in tills), Counter[str]())
    sys.stdout.write(
        f"{what}: tills at most {_slowest(tills):.1f} s {dict(met)}, "
        f"estimates at most {form.slowest:.1f} s {dict(form.met)}\n"
    )


if __name__ == "__main__":
    given = sys.argv[1:]
    raise SystemExit(main(float(given[0]) if given else 20, int(given[1]) if given[1:] else 12))
