"""Level 0009 over events that the releases before placed by the numbers of transactions.

Those numbers begin anew in every PostgreSQL cluster. So a backup that was restored into a fresh one
has events far above all that its transactions will ever count, and the next ones were not read.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from sqlalchemy import Connection, Engine, text

from schemas.events.records import FEED_START, EventFilter, EventPlace, NewEvent
from service.demo import demo_shop
from service.persistence.sql.engine import open_engine, writing
from service.persistence.sql.level import migrate, take_back
from service.persistence.unit_of_work import UnitsOfWork
from tests.api.demo_copies import START

SHOP = "shop"
pytestmark = pytest.mark.postgres
FAR_AHEAD = 3_000_000_000
"""The numbers of the cluster that the dump came from."""
EVERYTHING = EventFilter()
NOTED = """
INSERT INTO events (turn, shop_id, key_id, at, kind, subject, subject_id)
SELECT {turn}, '{shop}', 'k', now(), 'quote.created', 'quote', '{subject}'
"""
BY_TRANSACTION = (
    "(SELECT coalesce(max(era), 0) FROM event_eras) * (1::bigint << 48) "
    "+ pg_current_xact_id()::text::bigint"
)


def _note(connection: Connection, subject: str, turn: str = BY_TRANSACTION) -> None:
    connection.execute(text(NOTED.format(turn=turn, shop=SHOP, subject=subject)))


@pytest.fixture
def before(fresh_postgres: str) -> Iterator[Engine]:
    """A database at the level before, with events from a cluster far ahead and one of this one."""
    engine = open_engine(fresh_postgres)
    migrate(engine.url)
    with UnitsOfWork(engine).writing() as uow:
        uow.shops.add(SHOP, demo_shop())
        uow.commit()
    take_back(engine.url, "0008")
    engine.dispose()
    with writing(engine).begin() as connection:
        for number, subject in enumerate("abcd"):
            _note(connection, subject, str(FAR_AHEAD + number // 2))
    with writing(engine).begin() as connection:
        _note(connection, "read by nobody so far")
    yield engine
    engine.dispose()


def _read(engine: Engine, after: EventPlace) -> list[str]:
    with UnitsOfWork(engine).following() as uow:
        page = uow.events.page(SHOP, EVERYTHING, 100, after)
    return [stored.event.subject_id for stored in page.events]


def _store(engine: Engine, subject: str) -> None:
    with UnitsOfWork(engine).writing() as uow:
        told = {"shop_id": SHOP, "key_id": "k", "at": START, "kind": "quote.created"}
        uow.events.add(NewEvent(**told, subject="quote", subject_id=subject))  # type: ignore[arg-type]
        uow.commit()


def test_readers_of_the_release_before_go_on_where_they_were(before: Engine) -> None:
    migrate(before.url)
    before.dispose()
    _store(before, "new")
    half = EventPlace(FAR_AHEAD, 2)
    assert _read(before, half) == ["c", "d", "new"]
    assert _read(before, EventPlace(FAR_AHEAD + 1, 4)) == ["new"]
    assert _read(before, FEED_START) == ["read by nobody so far", "a", "b", "c", "d", "new"]


def test_nodes_of_the_release_before_store_on_while_the_nodes_follow(before: Engine) -> None:
    migrate(before.url)
    before.dispose()
    _store(before, "of the new release")
    with UnitsOfWork(before).following() as uow:
        end = uow.events.end(SHOP)
    with writing(before).begin() as connection:
        _note(connection, "of the release before")
    assert _read(before, end) == ["of the release before"]


def test_after_the_way_back_events_are_read_in_their_order(before: Engine) -> None:
    migrate(before.url)
    before.dispose()
    _store(before, "new")
    take_back(before.url, "0008")
    before.dispose()
    with writing(before).begin() as connection:
        _note(connection, "by the release before")
        order = connection.execute(text("SELECT subject_id FROM events ORDER BY turn, id"))
        assert order.scalars().all()[-2:] == ["new", "by the release before"]
    migrate(before.url)
    before.dispose()
    _store(before, "newest")
    assert _read(before, FEED_START)[-3:] == ["new", "by the release before", "newest"]


def test_numbers_go_on_where_a_copy_has_left_the_sequence_behind(before: Engine) -> None:
    with writing(before).begin() as connection:
        connection.execute(text("SELECT setval('events_id_seq', 1, false)"))
    migrate(before.url)
    before.dispose()
    _store(before, "new")
    assert _read(before, FEED_START)[-1] == "new"
