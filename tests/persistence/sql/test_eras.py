"""Eras of the change feed: one for every run of a server, begun by whoever connects first."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Thread
from time import sleep, time

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import OperationalError

from schemas.events.records import EventFilter, EventPlace
from service.app.audit import note
from service.demo import demo_shop
from service.persistence.sql import eras
from service.persistence.sql.engine import open_engine, writing
from service.persistence.unit_of_work import UnitsOfWork
from tests.api.demo_copies import START

pytestmark = pytest.mark.postgres
SHOP = "shop"
ERAS = text("SELECT era, turn, run FROM event_eras ORDER BY era")


@pytest.fixture
def moved(postgres_engine: Engine) -> Iterator[Engine]:
    """A database with a shop, whose last era was begun in another run of a server."""
    _store(postgres_engine, "before")
    with writing(postgres_engine).begin() as connection:
        connection.execute(text("UPDATE event_eras SET run = 'another'"))
    engine = open_engine(postgres_engine.url.render_as_string(hide_password=False))
    yield engine
    engine.dispose()


def _store(engine: Engine, subject_id: str) -> EventPlace:
    """Store an event, and its shop where there is none; gives the end of the feed."""
    with UnitsOfWork(engine).writing() as uow:
        if not uow.shops.codes():
            uow.shops.add(SHOP, demo_shop())
        told = {"key_id": "k", "kind": "quote.created", "subject": "quote"}
        note(uow, shop_id=SHOP, at=START, subject_id=subject_id, **told)
        uow.commit()
    with UnitsOfWork(engine).following() as uow:
        return uow.events.end(SHOP)


def _eras(engine: Engine) -> list[tuple[int, int, str]]:
    with engine.connect() as connection:
        return [tuple(row) for row in connection.execute(ERAS)]


def test_nodes_that_start_at_once_begin_one_era(postgres_engine: Engine, moved: Engine) -> None:
    before = _eras(postgres_engine)
    address = moved.url.render_as_string(hide_password=False)
    nodes = [open_engine(address) for _ in range(8)]
    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(_eras, nodes))
    for node in nodes:
        node.dispose()
    assert all(each == found[0] for each in found)
    assert len(found[0]) == len(before) + 1
    era, turn, run = found[0][-1]
    assert era == before[-1][0] + 1
    assert before[-1][1] < turn <= time() * 1_000_000
    assert run != "another"


def test_a_cursor_that_had_read_what_is_lost_gets_all_that_comes(
    postgres_engine: Engine, moved: Engine
) -> None:
    with UnitsOfWork(postgres_engine).following() as uow:
        end = uow.events.end(SHOP)
    ahead = EventPlace(end.turn, end.id + 1_000)
    _store(moved, "new")
    for cursor in (end, ahead):
        with UnitsOfWork(moved).following() as uow:
            page = uow.events.page(SHOP, EventFilter(), 10, cursor)
        assert [stored.event.subject_id for stored in page.events] == ["new"]


def test_an_era_waits_for_events_that_are_not_decided(
    postgres_engine: Engine, moved: Engine
) -> None:
    with UnitsOfWork(postgres_engine).writing() as slow:
        told = {"key_id": "k", "kind": "quote.created", "subject": "quote"}
        note(slow, shop_id=SHOP, at=START, subject_id="undecided", **told)
        begins = Thread(target=lambda: _eras(moved))
        begins.start()
        sleep(0.3)
        assert begins.is_alive()
        slow.commit()
    begins.join(30)
    assert [run == "another" for _, _, run in _eras(postgres_engine)][-1] is False


def test_the_same_run_begins_no_era(postgres_engine: Engine) -> None:
    before = _eras(postgres_engine)
    again = open_engine(postgres_engine.url.render_as_string(hide_password=False))
    assert _eras(again) == before
    again.dispose()


def test_a_standby_is_refused(postgres_engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(eras, "_LOOK", "SELECT true, true")
    engine = open_engine(postgres_engine.url.render_as_string(hide_password=False))
    with pytest.raises(OperationalError, match="standby"):
        engine.connect()
    engine.dispose()


def test_a_database_that_is_not_migrated_is_let_be(fresh_postgres: str) -> None:
    engine = open_engine(fresh_postgres)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT 1")).scalar_one() == 1
    engine.dispose()
