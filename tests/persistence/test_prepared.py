"""Prepared statements store and find just what the same statements do in the ordinary way."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, bindparam, insert, select, update

from service.demo import demo_shop
from service.persistence.prepared import Prepared
from service.persistence.tables_events import events
from service.persistence.unit_of_work import SqlUnits

AT = datetime(2026, 3, 29, 1, 30, 0, 125_000, tzinfo=UTC)
ROW = {
    "turn": 0,
    "shop_id": "s1",
    "key_id": "k'1\" %s ? :x",
    "at": AT,
    "kind": "quote.created",
    "subject": "quote",
    "subject_id": "q–1",
    "before": None,
    "after": b'{"a":"\xc3\xa9"}',
}
_PLAIN = insert(events).values({name: bindparam(name) for name in ROW}).inline()


@pytest.fixture(autouse=True)
def _shop(units: SqlUnits) -> None:
    with units.writing() as uow:
        uow.shops.add("s1", demo_shop())
        uow.commit()


def test_a_row_is_stored_as_in_the_ordinary_way(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(_PLAIN, ROW)
        Prepared(_PLAIN).execute(connection, {**ROW, "more": "is not looked at"})
        first, second = connection.execute(select(events).order_by(events.c.id)).all()
    assert {**first._mapping, "id": 0} == {**second._mapping, "id": 0}
    assert second.at == AT


def test_constants_of_a_statement_stay_in_it(engine: Engine) -> None:
    grow = update(events).values(turn=events.c.turn + 5).where(events.c.shop_id == bindparam("s"))
    grown = Prepared(grow.where(events.c.kind == "quote.created").returning(events.c.turn))
    with engine.begin() as connection:
        connection.execute(_PLAIN, ROW)
        assert grown.execute(connection, {"s": "s1"}).scalar() == 5
        assert grown.execute(connection, {"s": "s1"}).scalar() == 10
        assert grown.execute(connection, {"s": "s2"}).scalar() is None


def test_a_missing_value_is_not_taken_for_nothing(engine: Engine) -> None:
    short = {name: value for name, value in ROW.items() if name != "before"}
    with engine.begin() as connection, pytest.raises(KeyError):
        Prepared(_PLAIN).execute(connection, short)
