"""`framing-quotes work` beside a server on PostgreSQL: a worker is killed, another takes over."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import pytest
import requests
from sqlalchemy import create_engine, text

from service.persistence.sql.engine import database_url
from tests.deploy.live import new_key, served, set_up
from tests.waiting import PATIENCE, wait_for

pytestmark = pytest.mark.postgres
PIECES = [
    {"item": "BRD-1204", "width": f"{7 + n // 8} in", "height": f"{9 + n % 23}.375"}
    for n in range(42)
]
RAILS = [{"item": "MLD-OAK125", "length": "20.5 in", "quantity": 6_001}]
"""More than are planned in a request, and done in a moment."""


@contextmanager
def worker(url: str) -> Iterator[subprocess.Popen[bytes]]:
    process = subprocess.Popen(
        [sys.executable, "-m", "service", "work"], env={**os.environ, "DATABASE_URL": url}
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
            assert process.wait(PATIENCE) == 0, "a worker that is told to stop ends well"


class Caller:
    """A caller with a key."""

    def __init__(self, base: str, key: str) -> None:
        self._place = f"{base}/v1/cutting-plans"
        self._session = requests.Session()
        self._session.headers["Authorization"] = f"Bearer {key}"

    def ask(self, pieces: Sequence[Mapping[str, str | int]]) -> str:
        answer = self._session.post(self._place, json={"pieces": pieces})
        assert answer.status_code == 202, answer.text
        plan: str = answer.json()["id"]
        return plan

    def until(self, plan: str, *states: str, some: int = 0) -> dict[str, Any]:
        def come() -> dict[str, Any] | None:
            shown: dict[str, Any] = self._session.get(f"{self._place}/{plan}").json()
            return (
                shown if shown["status"] in states and shown["progress"]["done"] >= some else None
            )

        found: dict[str, Any] = wait_for(come)
        return found

    def cancel(self, plan: str) -> None:
        path = f"{self._place}/{plan}/cancel"
        assert self._session.post(path, headers={"If-Match": "*"}).status_code == 200


def a_minute_later(url: str) -> None:
    """Let a minute have passed since a worker was last heard of."""
    engine = create_engine(database_url(url))
    with engine.begin() as connection:
        connection.execute(
            text("UPDATE cutting_plans SET beat_at = beat_at - interval '2 minutes'")
        )
    engine.dispose()


def test_a_plan_outlives_its_worker_and_is_cancelled_at_will(fresh_postgres: str) -> None:
    set_up(fresh_postgres)
    key = new_key(fresh_postgres, "counter")
    with served(fresh_postgres, FRAMING_QUOTES_PLANS="apart") as live:
        caller = Caller(live.base, key)
        plan = caller.ask(PIECES)
        with worker(fresh_postgres) as first:
            caller.until(plan, "working", some=1)
            first.kill()
            first.wait(PATIENCE)
        assert caller.until(plan, "working")["progress"]["done"] > 0
        a_minute_later(fresh_postgres)
        with worker(fresh_postgres):
            # Asking for the plan brings it into the queue again, since nobody works on it.
            made = caller.until(plan, "planned")
            assert sum(piece["planned"] for piece in made["pieces"]) == len(PIECES)
            unwanted = caller.ask(PIECES)
            caller.until(unwanted, "working", some=1)
            caller.cancel(unwanted)
            next_one = caller.ask(RAILS)
            caller.until(next_one, "planned")
            assert caller.until(unwanted, "cancelled")["possible"] == []
