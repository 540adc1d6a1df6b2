"""How each database is opened."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError

from service.persistence.sql.engine import UnknownDatabase, database_url, open_engine, reading


def _value(engine: Engine, statement: str) -> str:
    with engine.connect() as connection:
        return str(connection.execute(text(statement)).scalar())


def test_sqlite_is_durable_and_lets_readers_go_on(sqlite_engine: Engine) -> None:
    # Meanings of the numbers: https://www.sqlite.org/pragma.html, synchronous 2 is FULL.
    asked = {
        "journal_mode": "wal",
        "synchronous": "2",
        "foreign_keys": "1",
        "busy_timeout": "10000",
    }
    for pragma, want in asked.items():
        assert _value(sqlite_engine, f"PRAGMA {pragma}") == want, pragma


@pytest.mark.postgres
def test_postgres_gives_up_in_time_and_works_in_utc(postgres_engine: Engine) -> None:
    asked = {
        "statement_timeout": "15s",
        "lock_timeout": "4s",
        "idle_in_transaction_session_timeout": "1min",
        "TimeZone": "UTC",
        "transaction_isolation": "read committed",
    }
    for name, want in asked.items():
        assert _value(postgres_engine, f"SHOW {name}") == want, name


@pytest.mark.postgres
def test_a_reader_of_postgres_cannot_write(postgres_engine: Engine) -> None:
    with reading(postgres_engine).connect() as connection:
        assert connection.execute(text("SHOW transaction_isolation")).scalar() == "repeatable read"
        with pytest.raises(DBAPIError, match="read-only transaction"):
            connection.execute(text("DELETE FROM counters"))
    # The connection goes back to the pool as it was.
    assert _value(postgres_engine, "SHOW transaction_isolation") == "read committed"
    assert _value(postgres_engine, "SHOW transaction_read_only") == "off"


def test_a_rollback_takes_tables_back_in_sqlite_too(sqlite_engine: Engine) -> None:
    with sqlite_engine.connect() as connection:
        connection.execute(text("CREATE TABLE scratch (id INTEGER)"))
        connection.rollback()
    assert _value(sqlite_engine, "SELECT count(*) FROM sqlite_master WHERE name='scratch'") == "0"


@pytest.mark.parametrize(
    ("given", "driver"),
    [
        ("sqlite:///a.sqlite3", "sqlite+pysqlite"),
        ("postgres://u:p@db/x", "postgresql+psycopg"),
        ("postgresql://u:p@db/x", "postgresql+psycopg"),
        ("postgresql+psycopg://u:p@db/x", "postgresql+psycopg"),
    ],
)
def test_addresses_take_the_driver_used_here(given: str, driver: str) -> None:
    assert database_url(given).drivername == driver


@pytest.mark.parametrize(
    "given",
    [
        "sqlite://",
        "sqlite:///:memory:",
        "sqlite:///file:x?mode=memory&uri=true",
        "mysql://u:hunter2@db/x",
        "postgresql+psycopg2://u:hunter2@db/x",
        "u:hunter2@db",
        "",
    ],
)
def test_other_addresses_are_refused_without_showing_them(given: str) -> None:
    with pytest.raises(UnknownDatabase) as refusal:
        open_engine(given)
    assert "hunter2" not in str(refusal.value)
