"""A new release without a pause: two nodes behind the real proxy, restarted one after the other.

    python -m tests.faults.rolling_restart [ROUNDS]

Needs `caddy` (a Debian package). The database is one that the latest kept release left
(`tests/releases`), migrated but not yet filled. Tills store quotes and look them up through
deploy/Caddyfile all the while, and explain and accept what that release stored; none of them tries
again, so every answer that is no success counts as a loss. Meanwhile the database is put a level
ahead and back, as a later release's migration would leave it. It ends with 1 where a request was
lost, or where a quote was told to be stored and is not.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from uuid import uuid4

import requests
from sqlalchemy import create_engine, select, text, update

from schemas.openapi.examples import examples
from service.persistence.quotes import head_of, quote_revisions, quotes
from service.persistence.sql.engine import open_engine
from service.persistence.sql.level import head, migrate
from tests.deploy.live import free_port, new_key, served
from tests.releases.store import RELEASES, restore
from tests.waiting import wait_for

TOP = Path(__file__).parents[2]
TILLS = 4
BODY = examples()["quote_small"]["request"]["body"]
"""A quote of what the shop of the kept release still sells."""
ANY = {"If-Match": "*"}
AHEAD = "UPDATE alembic_version SET version_num = :level"


class Till(threading.Thread):
    """Stores a quote, reads it, and again, each call once; sells what was there before."""

    def __init__(self, base: str, key: str, kept: list[str], stop: threading.Event) -> None:
        super().__init__()
        self.base, self.kept, self.stop = base, kept, stop
        self.headers = {"Authorization": f"Bearer {key}"}
        self.answers: Counter[str] = Counter()
        self.stored: list[str] = []
        self.slowest = 0.0

    def run(self) -> None:
        """Work until told to stop."""
        with requests.Session() as session:
            session.headers.update(self.headers)
            while not self.stop.is_set():
                once = {"Idempotency-Key": f'"{uuid4()}"'}
                made = self._ask(session, "POST", "/v1/quotes", json=BODY, headers=once)
                if made is not None and made.status_code == 201:
                    self.stored.append(made.json()["number"])
                    self._ask(session, "GET", f"/v1/quotes/{self.stored[-1]}")
                if self.kept:
                    sold = f"/v1/quotes/{self.kept.pop()}"
                    self._ask(session, "GET", f"{sold}/workings")
                    self._ask(session, "POST", f"{sold}/accept", json={}, headers=ANY)

    def _ask(
        self, session: requests.Session, method: str, path: str, **more: object
    ) -> requests.Response | None:
        began = time.monotonic()
        try:
            answer = session.request(method, self.base + path, timeout=30, **more)  # type: ignore[arg-type]
        except requests.RequestException as error:
            self.answers[f"{method} {type(error).__name__}"] += 1
            return None
        self.slowest = max(self.slowest, time.monotonic() - began)
        self.answers[f"{method} {answer.status_code}"] += 1
        return answer


def main(rounds: int) -> int:
    """Restart both nodes so many times under work; tell what the tills met."""
    caddy = shutil.which("caddy")
    if caddy is None:
        print("there is no caddy on this machine", file=sys.stderr)
        return 2
    with ExitStack() as stack, tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'rolling.sqlite3'}"
        kept = _kept(url)
        key = new_key(url, "counter")
        nodes = [stack.enter_context(ExitStack()) for _ in range(2)]
        ports = [free_port() for _ in nodes]
        begin = [
            lambda node=node, port=port: node.enter_context(
                served(url, PORT=str(port), FRAMING_QUOTES_DRAIN_SECONDS="5")
            )
            for node, port in zip(nodes, ports, strict=True)
        ]
        for each in begin:
            each()
        base = f"http://127.0.0.1:{free_port()}"
        told = {"SITE_ADDRESS": base, "UPSTREAMS": " ".join(f"127.0.0.1:{p}" for p in ports)}
        proxy = subprocess.Popen(
            [caddy, "run", "--config", "deploy/Caddyfile", "--adapter", "caddyfile"],
            cwd=TOP,
            env={**os.environ, **told, "XDG_CONFIG_HOME": folder, "XDG_DATA_HOME": folder},
            stderr=subprocess.DEVNULL,
        )
        stack.callback(proxy.wait)
        stack.callback(proxy.terminate)
        wait_for(lambda: _answers(f"{base}/readyz"))
        time.sleep(2)  # both nodes have been looked at
        stop = threading.Event()
        tills = [Till(base, key, kept[at::TILLS], stop) for at in range(TILLS)]
        for till in tills:
            till.start()
        _restart(url, rounds, nodes, begin)
        stop.set()
        for till in tills:
            till.join()
        return _judge(base, tills)


def _kept(url: str) -> list[str]:
    """Restore the latest kept release, and return its quotes that can be accepted."""
    engine = open_engine(url)
    restore(engine, RELEASES[-1])
    migrate(engine.url)
    with engine.begin() as connection:  # they stay valid, whenever this runs
        connection.execute(update(quotes).values(valid_until=date(9999, 1, 1)))
        rows = connection.execute(select(quotes, quote_revisions.c.result).join(quote_revisions))
        found = [
            head_of(row).number
            for row in rows
            if row.status == "issued"
            and row.offered_from == row.revision
            and b'"severity":"stop"' not in row.result
        ]
    engine.dispose()
    return sorted(set(found))


def _answers(address: str) -> bool:
    try:
        return requests.get(address, timeout=5).ok
    except requests.ConnectionError:
        return False


def _restart(url: str, rounds: int, nodes: list[ExitStack], begin: list) -> None:  # type: ignore[type-arg]
    engine = create_engine(url)
    time.sleep(2)
    for _ in range(rounds):
        with engine.begin() as connection:  # a later release has migrated ...
            connection.execute(text(AHEAD), {"level": "9999"})
        time.sleep(5)  # ... and the nodes go on
        with engine.begin() as connection:
            connection.execute(text(AHEAD), {"level": head()})
        for node, start in zip(nodes, begin, strict=True):
            node.close()  # SIGTERM, and wait
            start()
            time.sleep(3)  # the proxy has seen that it is ready
    engine.dispose()


def _judge(base: str, tills: list[Till]) -> int:
    met = sum((till.answers for till in tills), Counter[str]())
    stored = [number for till in tills for number in till.stored]
    headers = tills[0].headers
    missing = [
        number
        for number in stored
        if not requests.get(f"{base}/v1/quotes/{number}", headers=headers, timeout=30).ok
    ]
    lost = {name: count for name, count in met.items() if name[-3:] not in ("200", "201")}
    slowest = max(till.slowest for till in tills)
    print(f"answers: {dict(met)}; slowest {slowest:.2f} s")
    print(
        f"{len(stored)} quotes stored, {len(missing)} of them missing; lost requests: {lost or 0}"
    )
    return int(bool(lost or missing or not stored))


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 3))
