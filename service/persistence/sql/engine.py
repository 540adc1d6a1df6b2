"""Engines: how each database is opened, and how its transactions begin.

SQLite: the driver's own transaction control is switched off (it begins transactions late and not
for reads), and every transaction begins here: DEFERRED for readers, IMMEDIATE for writers, so that
a writer waits for its turn at the start and never fails half-way with a stale view. WAL lets
readers go on while one writes; synchronous=FULL keeps what was committed through a loss of power.

PostgreSQL: reads are REPEATABLE READ and read-only, one view for a whole book. Connections are
tried before use (`pool_pre_ping`): it costs a round trip, but only for requests that touch storage
at all, and without it every pooled connection fails one request after the database has restarted.
No wait for the server lasts for ever (`service.persistence.sql.bounded`).
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, NullPool, create_engine, event, make_url

from service.persistence.sql.bounded import WATCHED, bound
from service.persistence.sql.eras import keep_eras
from service.persistence.sql.prepared import to_driver

BUSY_SECONDS = 10
"""How long a writer of SQLite waits for its turn."""
STATEMENT_SECONDS = 15
LOCK_SECONDS = 5
POOL_SECONDS = 5
"""How long a thread waits for one of the pooled connections, where there are too few."""
WAL_PAGES = 4_000
"""So many pages (16 MB) are written before SQLite copies them into the file; it takes a while."""
BEGIN = "framing_quotes_begin"
"""Name of the execution option that holds SQLite's BEGIN statement."""


class UnknownDatabase(Exception):
    """A database address of a kind that is not supported."""


def database_url(text: str) -> URL:
    """The address of the database, with the driver that is used here.

    Raises:
        UnknownDatabase: neither a SQLite file nor a PostgreSQL database, or not an address.
    """
    try:
        url = make_url(text)
    except Exception as error:  # SQLAlchemy names several; none may carry a password outwards
        raise UnknownDatabase("it is not a database address") from error
    if url.drivername in ("postgres", "postgresql", "postgresql+psycopg"):
        return url.set(drivername="postgresql+psycopg")
    if url.drivername not in ("sqlite", "sqlite+pysqlite"):
        raise UnknownDatabase("it must begin with sqlite:/// or postgresql://")
    in_memory = ":memory:" in (url.database or ":memory:") or url.query.get("mode") == "memory"
    if in_memory:
        raise UnknownDatabase("a SQLite database needs a file; one in memory is lost at once")
    return url.set(drivername="sqlite+pysqlite")


def shown(url: URL) -> str:
    """Return a sentence's words for a database: its place, and never its password.

    A SQLite file is given by its whole path, since the address may be relative to a folder.
    """
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "").absolute()
        if not path.parent.is_dir():
            return f"the SQLite file {path}, whose folder does not exist"
        return f"the SQLite file {path}" + ("" if path.exists() else ", which does not exist")
    place = f"{url.host or 'this machine'}{f':{url.port}' if url.port else ''}"
    return f"the PostgreSQL database {url.database or url.username} on {place}"


def is_missing(url: URL) -> bool:
    """Return whether it is a SQLite file that is not there; to connect would make an empty one."""
    is_file = url.get_backend_name() == "sqlite" and "uri" not in url.query
    return is_file and not Path(url.database or "").exists()


def open_engine(text: str, connections: int = 8) -> Engine:
    """The engine for the service: a pool of up to `connections`, one for each thread.

    Raises:
        UnknownDatabase: see `database_url`.
    """
    pool = {
        "pool_size": connections,
        "max_overflow": 2,
        "pool_use_lifo": True,
        "pool_timeout": POOL_SECONDS,
    }
    engine = _engine(database_url(text), STATEMENT_SECONDS, foreign_keys=True, **pool)
    if engine.dialect.name == "postgresql":
        keep_eras(engine)
    return engine


def open_migration_engine(url: URL, statement_seconds: int) -> Engine:
    """The engine for migrations: one connection, and SQLite's foreign keys off.

    SQLite changes a table by copying and dropping it, which foreign keys would turn into deletions;
    the migration checks them itself before it commits.
    """
    return _engine(url, statement_seconds, foreign_keys=False, poolclass=NullPool)


def _engine(url: URL, statement_seconds: int, *, foreign_keys: bool, **pool: Any) -> Engine:
    if url.get_backend_name() == "sqlite":
        engine = create_engine(url, **pool)
        _make_private(engine, url.database or "")
        _take_over_sqlite(engine, foreign_keys=foreign_keys)
        return engine
    settings = {
        "statement_timeout": f"{statement_seconds}s",
        "lock_timeout": f"{LOCK_SECONDS}s",
        "idle_in_transaction_session_timeout": "60s",
        "timezone": "UTC",
    }
    options = " ".join(f"-c {name}={value}" for name, value in settings.items())
    connect = {"options": options, "application_name": "framing-quotes", **WATCHED}
    engine = create_engine(url, pool_pre_ping=True, connect_args=connect, **pool)
    bound(engine, statement_seconds)
    return engine


def _make_private(engine: Engine, path: str) -> None:
    """Make a new SQLite file for its owner alone; SQLite gives -wal and -shm the same rights."""

    @event.listens_for(engine, "do_connect")
    def make(*_: object) -> None:
        with suppress(OSError):  # it is there, or cannot be made, which SQLite says by itself
            os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600))


def _take_over_sqlite(engine: Engine, *, foreign_keys: bool) -> None:
    """Set each new connection up and begin every transaction ourselves."""

    @event.listens_for(engine, "connect")
    def set_up(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # the driver then begins nothing by itself
        for pragma in (
            f"busy_timeout = {BUSY_SECONDS * 1000}",
            "journal_mode = WAL",
            "synchronous = FULL",
            f"wal_autocheckpoint = {WAL_PAGES}",
            f"foreign_keys = {'ON' if foreign_keys else 'OFF'}",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        statement: str = connection.get_execution_options().get(BEGIN, "BEGIN DEFERRED")
        to_driver(connection, statement)


def reading(engine: Engine) -> Engine:
    """A view of the engine whose transactions only read, all from one consistent state."""
    if engine.dialect.name == "sqlite":
        return engine.execution_options(**{BEGIN: "BEGIN DEFERRED"})
    return engine.execution_options(
        isolation_level="REPEATABLE READ", postgresql_readonly=True, postgresql_deferrable=False
    )


def following(engine: Engine) -> Engine:
    """A view of the engine whose transactions only read, each statement what is there by then."""
    if engine.dialect.name == "sqlite":
        return reading(engine)
    return engine.execution_options(isolation_level="READ COMMITTED", postgresql_readonly=True)


def writing(engine: Engine) -> Engine:
    """A view of the engine whose transactions may write; in SQLite they wait for their turn.

    In PostgreSQL each statement sees what is there by then, whatever the server's own default is.
    """
    if engine.dialect.name == "sqlite":
        return engine.execution_options(**{BEGIN: "BEGIN IMMEDIATE"})
    return engine.execution_options(isolation_level="READ COMMITTED")
