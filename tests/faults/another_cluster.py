"""A database that moves to another PostgreSQL cluster, with readers of its feed half way.

    python -m tests.faults.another_cluster [QUOTES] [WAY ...]

For each way (a dump restored, an upgrade, a copy of the folder, a standby that takes over, a
restart) a shop stores quotes and the copy is taken; in most ways the first cluster then goes on for
a while, and what it stores is lost. After the move two nodes start at once and store quotes.
Readers with cursors from before go on, one of which had read what was lost; so does a webhook some
of whose messages had failed. It ends with 1 where a reader misses, repeats or misplaces an event.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event

from flask.testing import FlaskClient

from service.api.application import create_app
from service.app.events.delivery import Outcome
from service.app.events.targets import Target
from service.cli.deliver import Courier
from service.settings import Settings
from service.wiring import Wiring, utc_now, wire
from tests.api.demo_copies import SET
from tests.bench.shops import documents, prepared
from tests.deploy.live import command
from tests.faults.clusters import NOTHING_LOST, WAYS, Cluster
from tests.faults.told import Figures, faults_of, table

QUOTES = 30
NUMBERS_USED = 3_000
"""Transactions that the first cluster has run for others, so that its numbers are far ahead."""
LATER = timedelta(days=2)
"""When whatever failed is due again."""


@dataclass
class Node:
    """A node of the service, in this process."""

    wiring: Wiring
    client: FlaskClient

    def store(self, many: int) -> list[str]:
        """Store so many quotes; their ids in their order."""
        ids = []
        for body in documents(many):
            answer = self.client.post("/v1/quotes", data=body, content_type="application/json")
            assert answer.status_code == 201, answer.get_data(as_text=True)
            ids.append(answer.get_json()["id"])
        return ids


def node(url: str, token: str, clock: timedelta = timedelta()) -> Node:
    """Start a node on a database."""

    def now() -> datetime:
        return utc_now() + clock

    told = {"DATABASE_URL": url, **SET}
    wiring = wire(Settings.read({**told, "FRAMING_QUOTES_RATE_PER_MINUTE": "0"}), now)
    client = create_app(wiring).test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {token}"
    return Node(wiring, client)


@dataclass
class Reader:
    """Follows the feed of one shop, wherever that is."""

    cursor: str = ""
    seen: list[str] = field(default_factory=list)

    def read(self, client: FlaskClient, most: int = 10**9) -> Reader:
        """Read on from where it stands: so many quotes at most, or to the end."""
        while most > 0:
            place = f"&cursor={self.cursor}" if self.cursor else ""
            page = client.get(f"/v1/events?limit={min(most, 7)}{place}").get_json()
            told = [e["subject_id"] for e in page["items"] if e["kind"] == "quote.created"]
            self.seen += told
            most -= len(told)
            self.cursor = page["next"]
            if not page["more"]:
                break
        return self


class Books:
    """The other side of a webhook: refuses every third message while it is told to."""

    def __init__(self) -> None:
        self.refuses, self._asked = True, 0
        self.got: Counter[str] = Counter()

    def __call__(self, _target: Target, _headers: Mapping[str, str], body: bytes) -> Outcome:
        self._asked += 1
        if self.refuses and self._asked % 3 == 0:
            return Outcome(503, "", 1)
        told = json.loads(body)
        if told["type"] == "quote.created":
            self.got[told["data"]["id"]] += 1
        return Outcome(200, "", 1)

    def deliver(self, wiring: Wiring) -> None:
        """Have a worker send all that is due."""
        courier = Courier(wiring, Event(), self)
        courier.run(once=True)
        courier.close()


def run(name: str, many: int) -> Figures:
    """Move a shop in one of the ways."""
    place = Path(tempfile.mkdtemp(prefix="fq-move-"))
    place.chmod(0o755)
    with ExitStack() as stack:
        stack.callback(shutil.rmtree, place, ignore_errors=True)

        def kept(cluster: Cluster) -> Cluster:
            stack.callback(cluster.stop)
            return cluster

        here = kept(Cluster(place / "first" / "data"))
        url, token = prepared(place, "admin", url=here.has_new())
        here.tell(f"DO $$ BEGIN FOR n IN 1..{NUMBERS_USED} LOOP "
                  "PERFORM pg_current_xact_id(); COMMIT; END LOOP; END $$")  # fmt: skip
        first, books = node(url, token), Books()
        hook = {"url": "https://books.example/hook"}
        assert first.client.post("/v1/webhooks", json=hook).status_code == 201
        before = first.store(many // 2)
        half = Reader().read(first.client)
        books.deliver(first.wiring)
        before += first.store(many - len(before))
        full = Reader().read(first.client)
        first.wiring.engine.dispose()
        moving = WAYS[name](here, place, kept)
        next(moving)
        ahead = Reader(full.cursor, list(full.seen))
        if name not in NOTHING_LOST:
            first.store(many)
            ahead.read(first.client)
        first.wiring.close()
        return _after(next(moving), token, before, {"half way": half, "at the end": full,
                      "ahead of the copy": ahead}, books)  # fmt: skip


def _after(
    url: str, token: str, before: list[str], readers: dict[str, Reader], books: Books
) -> Figures:
    """Go on where it has arrived, and compare what readers are told with what is stored."""
    command("migrate", DATABASE_URL=url)
    nodes = [node(url, token, LATER) for _ in range(2)]
    with ThreadPoolExecutor(2) as pool:
        stored = list(pool.map(lambda each: each.store(len(before) // 2), nodes))
    books.refuses = False
    books.deliver(nodes[0].wiring)
    readers = {**readers, "fresh": Reader()}
    figures: Figures = {"quotes stored": len(before) + sum(map(len, stored))}
    for name, reader in readers.items():
        seen, known = Counter(reader.seen), len(reader.seen)
        new = reader.read(nodes[1].client).seen[known:]
        wanted = [*(each for each in before if not seen[each]), *stored[0], *stored[1]]
        figures[f"{name}: missed"] = len(set(wanted) - set(new))
        figures[f"{name}: repeated or of nobody"] = len(new) - len(set(new) & set(wanted))
        figures[f"{name}: out of order"] = sum(
            [each for each in new if each in part] != [each for each in part if each in new]
            for part in (before, *stored)
        )
    expected = {*before, *stored[0], *stored[1]}
    figures["webhook: missed"] = len(expected - set(books.got))
    figures["webhook: repeated"] = sum(books.got[each] > 1 for each in expected)
    for each in nodes:
        each.wiring.close()
    return figures


def main(many: int, ways: list[str]) -> int:
    """Run, print, and say by the exit code whether anything is wrong."""
    bad = 0
    for name in ways:
        figures = run(name, many)
        sys.stdout.write(table(f"A shop moves: {name}", figures))
        for fault in faults_of(figures):
            sys.stdout.write(f"WRONG: {fault}\n")
            bad = 1
    return bad


if __name__ == "__main__":
    given = sys.argv[1:]
    raise SystemExit(main(int(given[0]) if given else QUOTES, given[1:] or list(WAYS)))
