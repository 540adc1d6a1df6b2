"""Two nodes and one PostgreSQL behind a proxy, and everything that can go wrong with them.

    python -m tests.faults.two_nodes [SECONDS] [CALLERS]

Callers store quotes all the while, each sent again under its `Idempotency-Key` until it is
answered; a reader follows the change feed. Meanwhile, in turn: a node gets SIGKILL and is started
again, its clock an hour ahead, or behind, by Debian's libfaketime where it is there; PostgreSQL
ends without a word and is started again; its disk is full (a small tmpfs, where this user may mount
one). At the end the database, the answers and the feed are compared.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from random import Random

from service.app.keys.access import create_key
from service.persistence.sql.engine import open_engine
from service.settings import Settings
from service.wiring import wire
from tests.bench.shops import prepared
from tests.faults.callers import Callers
from tests.faults.feed import FeedReader
from tests.faults.nodes import FAKETIME, Node
from tests.faults.postgres import Postgres, fill, mounted, unmounted
from tests.faults.proxy import Proxy
from tests.faults.told import Figures, compared, faults_of, table

MEGABYTES = 700
CALM = 3.0
"""Seconds between two faults."""
DOWN = 2.0
PATIENCE = 120.0
AGAIN = 100
"""So many answers are asked for once more at the end."""


class Trouble:
    """What goes wrong, one after the other."""

    def __init__(self, nodes: list[Node], database: Postgres, disk: Path | None) -> None:
        self._nodes, self._database, self._disk = nodes, database, disk
        self.done: Counter[str] = Counter()

    def next(self, turn: int) -> None:
        """The next fault, and its repair."""
        kinds = [self._kill, self._restart, self._kill, self._clock, self._full]
        kinds[turn % len(kinds)](self._nodes[turn % len(self._nodes)], turn)

    def _kill(self, node: Node, _: int) -> None:
        node.kill()
        time.sleep(DOWN)
        node.start()
        self.done["a node killed"] += 1

    def _clock(self, node: Node, turn: int) -> None:
        if not FAKETIME.exists():
            self.done["no libfaketime: no clock jumped"] = 1
            return
        node.kill()
        node.start("+1h" if turn % 2 else "-1h")
        self.done["a node's clock jumped"] += 1

    def _restart(self, _node: Node, _: int) -> None:
        self._database.crash()
        time.sleep(DOWN)
        self._database.start()
        self.done["the database crashed"] += 1

    def _full(self, _node: Node, _: int) -> None:
        if self._disk is None:
            self.done["no small disk: it was never full"] = 1
            return
        ballast = fill(self._disk)
        time.sleep(DOWN * 2)
        ballast.unlink()
        self._database.start()  # where it stopped for want of room
        self.done["the disk was full"] += 1


def _keys(url: str, folder: Path) -> tuple[str, str]:
    """A migrated shop; the callers' key, and the feed reader's."""
    address, token = prepared(folder, "counter", url=url)
    wiring = wire(Settings.read({"DATABASE_URL": address}))
    with wiring.units.writing() as uow:
        shop = uow.shops.by_code("lanternquay").id
        reader = create_key(uow, shop, "feed", ["reports"], wiring.clock()).token
        uow.commit()
    wiring.close()
    return token, reader


def run(seconds: float, many: int) -> Figures:
    """All of it for so many seconds."""
    place = Path(tempfile.mkdtemp(prefix="fq-two-"))
    small = mounted(place / "disk", MEGABYTES)
    if not small:
        (place / "disk").mkdir(exist_ok=True)
    place.chmod(0o755)
    (place / "disk").chmod(0o755)
    database = Postgres(place / "disk")
    nodes = [Node(database.url, place / f"node{n}.log") for n in (1, 2)]
    try:
        token, reader = _keys(database.url, place)
        for node in nodes:
            node.start()
        proxy = Proxy([node.port for node in nodes])
        callers, feed = Callers(proxy.port, token, many), FeedReader(proxy.port, reader)
        callers.start()
        feed.start()
        trouble = Trouble(nodes, database, place / "disk" if small else None)
        ends, turn = time.monotonic() + seconds, 0
        while time.monotonic() < ends:
            time.sleep(CALM)
            trouble.next(turn)
            turn += 1
        return _end(callers, feed, proxy, database, trouble)
    finally:
        for node in nodes:
            node.kill()
        database.stop()
        unmounted(place / "disk")
        shutil.rmtree(place, ignore_errors=True)


def _end(
    callers: Callers, feed: FeedReader, proxy: Proxy, database: Postgres, trouble: Trouble
) -> Figures:
    stuck = callers.stop(PATIENCE)
    feed.stop(PATIENCE)
    engine = open_engine(database.url)
    figures = compared(engine, (kept.answer for kept in callers.kept))
    engine.dispose()
    told = {kept.number: kept for kept in callers.kept}
    sample = Random(1).sample(sorted(told), min(AGAIN, len(told)))
    other = sum(not callers.again(told[number]) for number in sample)
    return {
        **figures,
        "callers without an answer": stuck,
        "retries answered otherwise": other + len(callers.differing),
        "told twice or never by the feed": abs(figures["quotes stored"] - len(feed.seen))
        + sum(count != 1 for count in feed.seen.values()),
        **{f"({what})": count for what, count in trouble.done.items()},
        **{f"({status})": count for status, count in sorted(callers.seen.items())},
        "(connections a node)": "/".join(map(str, proxy.handed.values())),
    }


def wrong(figures: Figures) -> list[str]:
    """What of the figures should not be so."""
    told = (name for name in figures if name.startswith("("))
    return faults_of(figures, "numbers left out", *told)  # those of blocks, and of quotes undone


def main(seconds: float, many: int) -> int:
    """Run, print, and say by the exit code whether anything is wrong."""
    figures = run(seconds, many)
    sys.stdout.write(table(f"Two nodes, {many} callers, {seconds:g} seconds of trouble", figures))
    for fault in wrong(figures):
        sys.stdout.write(f"WRONG: {fault}\n")
    return 1 if wrong(figures) else 0


if __name__ == "__main__":
    given = sys.argv[1:]
    raise SystemExit(
        main(float(given[0]) if given else 120, int(given[1]) if len(given) > 1 else 12)
    )
