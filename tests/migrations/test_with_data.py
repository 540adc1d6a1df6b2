"""Migrations over data: from the first release to this one and back, while others read.

What the first release stored is kept in `tests/releases`. Nothing of it may be lost or changed on
the way up and down, this release must read it, and whoever reads meanwhile waits for a moment at
most.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import OperationalError

from service.api.application import create_app
from service.persistence.sql import engine as engines
from service.persistence.sql.engine import open_engine, open_migration_engine, reading
from service.persistence.sql.level import head, level, migrate, take_back
from service.settings import Settings
from service.wiring import wire
from tests.api.demo_copies import START
from tests.api.world import HandClock
from tests.releases.store import KEY, RELEASES, level_of, restore

Rows = dict[str, list[tuple[Any, ...]]]
FIRST = RELEASES[0]
LEVEL = level_of(FIRST)
PATIENCE = 30


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """A database of the first release with its data, of each kind."""
    if request.param == "sqlite":
        url = f"sqlite:///{tmp_path / 'old.sqlite3'}"
    else:
        url = request.getfixturevalue("fresh_postgres")
    engine = open_engine(url)
    restore(engine, FIRST)
    yield engine
    engine.dispose()


def _rows(engine: Engine) -> Rows:
    """Everything that is stored, by table."""
    with engine.connect() as connection:
        return {name: _table(connection, name) for name in inspect(connection).get_table_names()}


def _table(connection: Connection, name: str) -> list[tuple[Any, ...]]:
    columns = sorted(f'"{c["name"]}"' for c in inspect(connection).get_columns(name))
    found = connection.execute(text(f"SELECT {', '.join(columns)} FROM {name}"))  # noqa: S608
    return sorted((tuple(row) for row in found), key=repr)


def test_nothing_is_lost_on_the_way_up_and_down(old: Engine) -> None:
    before = _rows(old)
    assert sum(map(len, before.values())) > 700
    migrate(old.url)
    assert level(old) == head()
    take_back(old.url, LEVEL)
    assert _rows(old) == before
    migrate(old.url)
    assert level(old) == head()


def test_this_release_reads_what_the_first_one_stored(old: Engine) -> None:
    before = _rows(old)
    migrate(old.url)
    clock = HandClock(START)
    address = old.url.render_as_string(hide_password=False).replace("+pysqlite", "")
    wiring = wire(Settings.read({"DATABASE_URL": address}), clock, monotonic=clock.monotonic)
    client = create_app(wiring).test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {KEY}"
    quotes = client.get("/v1/quotes").json["items"]
    assert len(quotes) == len(before["quotes"])
    for quote in quotes:
        shown = client.get(f"/v1/quotes/{quote['id']}").json
        assert shown["totals"]["total"] == quote["total"]
        why = client.get(f"/v1/quotes/{quote['id']}/workings")
        assert why.status_code == 200, why.json
    for place, table in (
        ("/v1/cut-tickets", "cut_tickets"),
        ("/v1/cutting-plans", "cutting_plans"),
        ("/v1/offcuts", "offcuts"),
    ):
        listed = client.get(place).json["items"]
        assert len(listed) == len(before[table])
        assert all(client.get(f"{place}/{one['id']}").status_code == 200 for one in listed)
    events = client.get("/v1/events?limit=1000").json["items"]
    assert len(events) == len(before["events"])
    again = client.post(f"/v1/quotes/{quotes[0]['id']}/withdraw", headers={"If-Match": "*"})
    assert again.status_code in (200, 409)
    wiring.close()


@contextmanager
def _readers(old: Engine, reads: Callable[[Connection], object]) -> Iterator[list[str]]:
    """Four that read all the while; gives what went wrong with them."""
    over, wrong, done = threading.Event(), list[str](), list[float]()

    def run() -> None:
        while not over.is_set():
            begun = time.monotonic()
            try:
                with reading(old).connect() as connection:
                    reads(connection)
            except Exception as error:  # whatever it is, the test tells it
                wrong.append(f"{type(error).__name__}: {error}")
                return
            done.append(time.monotonic() - begun)
            time.sleep(0.002)

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    try:
        yield wrong
    finally:
        over.set()
        for thread in threads:
            thread.join(PATIENCE)
    assert len(done) >= 4
    assert max(done) < PATIENCE


def _a_book_and_a_page(connection: Connection) -> None:
    """What a request reads, in its order, all in one transaction."""
    for statement in (
        "SELECT * FROM api_keys",
        "SELECT * FROM shops",
        "SELECT * FROM items JOIN mouldings USING (shop_id, code)",
        "SELECT * FROM price_lists",
        "SELECT id, status FROM quotes ORDER BY created_at DESC LIMIT 50",
        "SELECT * FROM quote_revisions LIMIT 5",
    ):
        assert connection.execute(text(statement)).all()


def test_others_read_while_it_is_migrated(old: Engine) -> None:
    # As far back as what is read was there, so that tables are altered and not only added.
    with _readers(old, _a_book_and_a_page) as wrong:
        for _ in range(2):
            take_back(old.url, "0001")
            migrate(old.url)
    assert wrong == []
    assert level(old) == head()


@pytest.mark.postgres
def test_a_migration_that_cannot_have_a_table_gives_up_and_leaves_all_as_it_was(
    fresh_postgres: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engines, "LOCK_SECONDS", 1)
    engine = open_engine(fresh_postgres)
    restore(engine, FIRST)
    before = _rows(engine)
    with engine.connect() as other:
        other.execute(text("LOCK TABLE quotes IN ACCESS EXCLUSIVE MODE"))
        begun = time.monotonic()
        with pytest.raises(OperationalError, match="statement timeout"):
            take_back(engine.url, "0001")
        assert time.monotonic() - begun < PATIENCE
    assert level(engine) == LEVEL
    assert _rows(engine) == before
    engine.dispose()


@pytest.mark.postgres
def test_statements_and_locks_of_a_migration_have_an_end(fresh_postgres: str) -> None:
    engine = open_migration_engine(engines.database_url(fresh_postgres), 600)
    with engine.connect() as connection:
        shown = {
            name: connection.execute(text(f"SHOW {name}")).scalar_one()
            for name in ("statement_timeout", "lock_timeout", "idle_in_transaction_session_timeout")
        }
    engine.dispose()
    assert shown == {
        "statement_timeout": "10min",
        "lock_timeout": "4s",
        "idle_in_transaction_session_timeout": "1min",
    }
