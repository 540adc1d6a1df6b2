"""Column types: the same exact values out as in, and the same order, in both databases."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from fractions import Fraction

import pytest
from sqlalchemy import Column, Engine, Integer, MetaData, Table, insert, select, text
from sqlalchemy.exc import StatementError

from service.domain.measure.length import Length
from service.persistence.sql.types import INSTANT_WIDTH, Document, Exact, Instant, Packed, Ticks

THINGS = Table(
    "things",
    MetaData(),
    Column("id", Integer, primary_key=True),
    Column("length", Ticks),
    Column("number", Exact),
    Column("at", Instant),
    Column("document", Document),
)
EAST = timezone(timedelta(hours=5, minutes=45))
INSTANTS = (
    datetime(1, 1, 1, tzinfo=UTC),
    datetime(1969, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC),
    datetime(2026, 2, 28, 23, 59, 59, tzinfo=UTC),
    datetime(2026, 2, 28, 23, 59, 59, 1, tzinfo=UTC),
    datetime(2026, 3, 1, 6, tzinfo=EAST),
    datetime(2026, 3, 1, 0, 15, 0, 1, tzinfo=UTC),
    datetime(9999, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC),
)


def _stored(engine: Engine, column: Column[object], values: list[object]) -> list[object]:
    """Store values, each in a row of its own, and read them back in the database's order."""
    with engine.connect() as connection:
        THINGS.create(connection)
        rows = [{"id": n, column.name: value} for n, value in enumerate(reversed(values))]
        connection.execute(insert(THINGS), rows)
        found = connection.execute(select(column).order_by(column)).scalars().all()
        connection.rollback()
    return list(found)


def test_lengths_keep_every_tick_and_their_order(engine: Engine) -> None:
    lengths = [Length(-(2**63)), Length(-1), Length(0), Length(1), Length(2**63 - 1)]
    assert _stored(engine, THINGS.c.length, list(lengths)) == lengths


def test_instants_keep_microseconds_and_their_order(engine: Engine) -> None:
    found = _stored(engine, THINGS.c.at, list(INSTANTS))
    assert found == sorted(INSTANTS)
    assert all(isinstance(at, datetime) and at.tzinfo is UTC for at in found)


def test_an_instant_without_a_zone_is_refused(engine: Engine) -> None:
    with pytest.raises(StatementError, match="without a zone"):
        _stored(engine, THINGS.c.at, [datetime(2026, 3, 1)])  # noqa: DTZ001 — the fault tested


def test_instants_in_sqlite_are_text_of_one_width(sqlite_engine: Engine) -> None:
    with sqlite_engine.connect() as connection:
        THINGS.create(connection)
        rows = [{"id": n, "at": at} for n, at in enumerate(INSTANTS)]
        connection.execute(insert(THINGS), rows)
        texts = connection.execute(text("SELECT at FROM things")).scalars().all()
        connection.rollback()
    assert {len(one) for one in texts} == {INSTANT_WIDTH}
    assert "2026-03-01T00:15:00.000000Z" in texts


def test_exact_numbers_stay_exact(engine: Engine) -> None:
    numbers = [Fraction(1, 3), Fraction("0.1"), Fraction(10**30, 7), Fraction(-5, 2)]
    found = _stored(engine, THINGS.c.number, list(numbers))
    assert sorted(found) == sorted(numbers)  # type: ignore[type-var]


def test_a_document_comes_back_byte_for_byte(engine: Engine) -> None:
    document = '{"b": 1.10,  "a": "16⅜″ \\u0000", "b": 1}\n'.encode()
    assert _stored(engine, THINGS.c.document, [document]) == [document]


def test_nothing_stays_nothing(engine: Engine) -> None:
    for column in (THINGS.c.length, THINGS.c.number, THINGS.c.at, THINGS.c.document):
        assert _stored(engine, column, [None]) == [None]


def test_a_long_document_is_small_in_sqlite_and_text_of_before_is_read(engine: Engine) -> None:
    """Byte for byte, whether it was stored compressed or, by an earlier release, as text."""
    long = ('{"label":"16⅜ in","rows":[' + '{"mm":"415.925"},' * 400 + "{}]}").encode()
    table = Table("packed", MetaData(), Column("n", Integer), Column("document", Packed))
    with engine.connect() as connection, connection.begin() as transaction:
        table.create(connection)
        connection.execute(insert(table), [{"n": 1, "document": long}, {"n": 2, "document": b"{}"}])
        connection.execute(text("INSERT INTO packed VALUES (3, :was)"), {"was": long.decode()})
        connection.execute(insert(table), {"n": 4, "document": None})
        found = connection.execute(select(table.c.document).order_by(table.c.n)).scalars().all()
        assert found == [long, b"{}", long, None]
        if engine.dialect.name == "sqlite":
            sizes = "SELECT length(CAST(document AS BLOB)) FROM packed ORDER BY n"
            stored = connection.execute(text(sizes)).scalars().all()
            assert stored[0] < len(long) // 10
            assert stored[2] == len(long)
        transaction.rollback()
