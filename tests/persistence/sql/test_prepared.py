"""Prepared statements store and find just what the same statements do in the ordinary way."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, bindparam, event, insert, select, text, update
from sqlalchemy.exc import IntegrityError, OperationalError

from service.demo import demo_shop
from service.persistence.events.tables import events
from service.persistence.sql.prepared import Prepared
from service.persistence.unit_of_work import UnitsOfWork

AT = datetime(2026, 3, 29, 1, 30, 0, 125_000, tzinfo=UTC)
ROW = {
    "turn": 0,  # PostgreSQL gives it another
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
def _shop(units: UnitsOfWork) -> None:
    with units.writing() as uow:
        uow.shops.add("s1", demo_shop())
        uow.commit()


def test_a_row_is_stored_as_in_the_ordinary_way(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(_PLAIN, ROW)
        Prepared(_PLAIN).run(connection, {**ROW, "more": "is not looked at"})
        first, second = connection.execute(select(events).order_by(events.c.id)).all()
    assert {**first._mapping, "id": 0} == {**second._mapping, "id": 0}
    assert second.at == AT


def test_constants_of_a_statement_stay_in_it(engine: Engine) -> None:
    grow = update(events).values(turn=events.c.turn + 5).where(events.c.shop_id == bindparam("s"))
    grown = Prepared(grow.where(events.c.kind == "quote.created").returning(events.c.turn))
    with engine.begin() as connection:
        connection.execute(_PLAIN, ROW)
        turn = connection.execute(select(events.c.turn)).scalar_one()
        assert grown.first(connection, {"s": "s1"}) == (turn + 5,)
        assert grown.first(connection, {"s": "s1"}) == (turn + 10,)
        assert grown.first(connection, {"s": "s2"}) is None


def test_a_missing_value_is_not_taken_for_nothing(engine: Engine) -> None:
    short = {name: value for name, value in ROW.items() if name != "before"}
    with engine.begin() as connection, pytest.raises(KeyError):
        Prepared(_PLAIN).run(connection, short)


def test_who_listens_to_statements_hears_these_too(engine: Engine) -> None:
    heard: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *a: heard.append(a[2].split()[0]))
    grow = update(events).values(turn=events.c.turn + 5).where(events.c.shop_id == bindparam("s"))
    with engine.begin() as connection:
        Prepared(_PLAIN).run(connection, ROW)
        grown = Prepared(grow.returning(events.c.subject)).first(connection, {"s": "s1"})
    assert grown is not None
    assert tuple(grown) == ("quote",)
    assert [word for word in heard if word != "BEGIN"] == ["INSERT", "UPDATE"]


def test_what_a_driver_raises_is_raised_as_ever_and_shows_no_values(engine: Engine) -> None:
    of_nobody = {**ROW, "shop_id": "nobody's"}
    with pytest.raises(IntegrityError) as ordinary, engine.begin() as connection:
        connection.execute(_PLAIN, of_nobody)
    with pytest.raises(IntegrityError) as prepared, engine.begin() as connection:
        Prepared(_PLAIN).run(connection, of_nobody)
    assert type(prepared.value.orig) is type(ordinary.value.orig)
    assert "q–1" not in str(prepared.value)
    with engine.begin() as connection:
        Prepared(_PLAIN).run(connection, ROW)
        assert connection.execute(select(events.c.shop_id)).scalars().all() == ["s1"]


def test_a_connection_that_broke_is_not_used_again(postgres_engine: Engine) -> None:
    with postgres_engine.connect() as connection:
        number = connection.execute(text("SELECT pg_backend_pid()")).scalar_one()
        with postgres_engine.begin() as other:
            other.execute(text("SELECT pg_terminate_backend(:number)"), {"number": number})
        with pytest.raises(OperationalError) as broken:
            Prepared(_PLAIN).run(connection, ROW)
        assert broken.value.connection_invalidated
        assert connection.invalidated
