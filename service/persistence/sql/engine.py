"""Engines: how each database is opened, and how its transactions begin.

SQLite: the driver's own transaction control is switched off (it begins transactions late and not
for reads), and every transaction begins here: DEFERRED for readers, IMMEDIATE for writers, so that
a writer waits at the start and never fails half-way with a stale snapshot. WAL lets readers go on
while one writes; synchronous=FULL keeps committed data through a power loss.

PostgreSQL: reads are REPEATABLE READ and read-only, one snapshot for a whole book. Connections are
tested before use if they were idle: without that, every pooled connection fails one request after a
database restart. No wait for the server lasts forever (`service.persistence.sql.bounded`).
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, NullPool, create_engine, event, make_url

from service.persistence.sql.eras import keep_eras
from service.persistence.sql.outage import CONNECT_SECONDS
from service.persistence.sql.prepared import to_driver

BUSY_SECONDS = 10
"""The time a writer to SQLite waits for its turn."""
STATEMENT_SECONDS = 15
"""The time a statement of a command may take; for a server it is a setting."""
LOCK_SECONDS = 4
POOL_SECONDS = 5
"""The time a thread waits for a pooled connection."""
WAL_PAGES = 4_000
"""WAL pages (16 MB) written before SQLite checkpoints them into the file, which takes a while."""
CACHE_KB = 1_024
"""What a connection to SQLite keeps of the file; the system keeps all of it anyway."""
WATCHED = {
    "connect_timeout": CONNECT_SECONDS,
    "keepalives": 1,
    "keepalives_idle": 10,
    "keepalives_interval": 3,
    "keepalives_count": 3,
    "tcp_user_timeout": 10_000,
}
"""libpq's connection options; the last is in milliseconds."""
BEGIN = "framing_quotes_begin"
"""The execution option with SQLite's BEGIN statement."""


class UnknownDatabase(Exception):
    """A database address of an unsupported kind."""


def database_url(text: str) -> URL:
    """Return the address of the database, with the driver used here.

    Raises:
        UnknownDatabase: neither a SQLite file nor a PostgreSQL database, or not an address.
    """
    try:
        url = make_url(text)
    except Exception as error:  # SQLAlchemy raises several; none may leak a password
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
    """Return a database's location for messages, without its password.

    A SQLite file is given by its absolute path, since the address may be relative to a folder.
    """
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "").absolute()
        if not path.parent.is_dir():
            return f"the SQLite file {path}, whose folder does not exist"
        return f"the SQLite file {path}" + ("" if path.exists() else ", which does not exist")
    place = f"{url.host or 'this machine'}{f':{url.port}' if url.port else ''}"
    return f"the PostgreSQL database {url.database or url.username} on {place}"


def is_missing(url: URL) -> bool:
    """Return True for a SQLite file that does not exist; connecting would create an empty one."""
    is_file = url.get_backend_name() == "sqlite" and "uri" not in url.query
    return is_file and not Path(url.database or "").exists()


def open_engine(
    text: str, connections: int = 8, statement_seconds: int = STATEMENT_SECONDS
) -> Engine:
    """Return the engine for the service, with a pool of up to `connections`, one per thread.

    PostgreSQL ends a statement after `statement_seconds`; SQLite has no such limit.

    Raises:
        UnknownDatabase: see `database_url`.
    """
    pool = {
        "pool_size": connections,
        "max_overflow": 2,
        "pool_use_lifo": True,
        "pool_timeout": POOL_SECONDS,
    }
    engine = _engine(database_url(text), statement_seconds, foreign_keys=True, **pool)
    if engine.dialect.name == "postgresql":
        keep_eras(engine)
    return engine


def open_migration_engine(url: URL, statement_seconds: int) -> Engine:
    """Return the engine for migrations: one connection, and SQLite's foreign keys off.

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
    from service.persistence.sql.bounded import bound  # noqa: PLC0415 — 8 MB of psycopg

    settings = {
        "statement_timeout": f"{statement_seconds}s",
        "lock_timeout": f"{LOCK_SECONDS}s",
        "idle_in_transaction_session_timeout": "60s",
        "timezone": "UTC",
    }
    options = " ".join(f"-c {name}={value}" for name, value in settings.items())
    connect = {"options": options, "application_name": "framing-quotes", **WATCHED}
    engine = create_engine(url, connect_args=connect, **pool)
    bound(engine, statement_seconds)
    return engine


def _make_private(engine: Engine, path: str) -> None:
    """Make a new SQLite file private to its owner; SQLite gives -wal and -shm the same mode."""

    @event.listens_for(engine, "do_connect")
    def make(*_: object) -> None:
        with suppress(OSError):  # it exists, or SQLite will report why not
            os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600))


def _take_over_sqlite(engine: Engine, *, foreign_keys: bool) -> None:
    """Set up each new connection and begin every transaction ourselves."""

    @event.listens_for(engine, "connect")
    def set_up(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # the driver then begins nothing itself
        for pragma in (
            f"busy_timeout = {BUSY_SECONDS * 1000}",
            "journal_mode = WAL",
            "synchronous = FULL",
            f"cache_size = -{CACHE_KB}",
            f"wal_autocheckpoint = {WAL_PAGES}",
            f"foreign_keys = {'ON' if foreign_keys else 'OFF'}",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        statement: str = connection.get_execution_options().get(BEGIN, "BEGIN DEFERRED")
        to_driver(connection, statement)


def reading(engine: Engine) -> Engine:
    """Return a view of the engine whose transactions only read, from one consistent snapshot."""
    if engine.dialect.name == "sqlite":
        return engine.execution_options(**{BEGIN: "BEGIN DEFERRED"})
    return engine.execution_options(
        isolation_level="REPEATABLE READ", postgresql_readonly=True, postgresql_deferrable=False
    )


def following(engine: Engine) -> Engine:
    """Return a view of the engine whose transactions only read, with a snapshot per statement."""
    if engine.dialect.name == "sqlite":
        return reading(engine)
    return engine.execution_options(isolation_level="READ COMMITTED", postgresql_readonly=True)


def writing(engine: Engine) -> Engine:
    """Return a view of the engine whose transactions may write; in SQLite they wait for their turn.

    In PostgreSQL they are READ COMMITTED, whatever the server's own default.
    """
    if engine.dialect.name == "sqlite":
        return engine.execution_options(**{BEGIN: "BEGIN IMMEDIATE"})
    return engine.execution_options(isolation_level="READ COMMITTED")


def at_once(engine: Engine) -> Engine:
    """Return a view of the engine for PostgreSQL in which each statement is a transaction."""
    return engine.execution_options(isolation_level="AUTOCOMMIT")
