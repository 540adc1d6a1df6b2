"""How Alembic reaches the database; the same for its own command line and for `migrate`.

The address comes from the caller (`config.attributes["url"]`) or, on Alembic's command line, from
DATABASE_URL (of the environment or of `.env`). It is never put into a configuration file or a log.
"""

from __future__ import annotations

import random
import time
from typing import Any, Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy import URL, Connection, inspect, text
from sqlalchemy.exc import OperationalError
from sqlalchemy.types import TypeDecorator

from service.env_file import environment
from service.persistence.sql.engine import BEGIN, LOCK_SECONDS, database_url, open_migration_engine
from service.persistence.sql.types import Instant
from service.persistence.tables import metadata
from service.settings import Settings

STATEMENT_SECONDS = 600
"""A migration may copy a table; the lock timeout, not this, keeps it from blocking others."""
KNOT_MILLISECONDS = 700
"""PostgreSQL looks for knots of locks after a second (`deadlock_timeout`)."""
ONE_AT_A_TIME = 7_201_125_614
"""Key of the advisory lock under which migrations of one PostgreSQL database take turns."""


def _url() -> URL:
    given: URL | None = context.config.attributes.get("url")
    return given or database_url(Settings.read(environment()).database_url)


def _take_turns(connection: Connection) -> None:
    """Wait for another migration of this database, longer than for any other lock."""
    connection.execute(text(f"SET LOCAL lock_timeout = '{STATEMENT_SECONDS}s'"))
    connection.execute(text(f"SELECT pg_advisory_xact_lock({ONE_AT_A_TIME})"))
    connection.execute(text(f"SET LOCAL lock_timeout = '{LOCK_SECONDS}s'"))


def _take_tables(connection: Connection) -> None:
    """Take every table at once, or none and try again, before anything is changed.

    A migration that takes one table after the other, as it comes to them, stands across the way of
    a reader that holds the next one, and PostgreSQL ends the reader. So all waiting is done here,
    and each time for less than the second after which PostgreSQL looks for such a knot.

    Raises:
        OperationalError: others did not let go of the tables within `LOCK_SECONDS`.
    """
    tables = ", ".join(f'"{name}"' for name in sorted(inspect(connection).get_table_names()))
    ends = time.monotonic() + LOCK_SECONDS
    while tables:
        try:
            with connection.begin_nested():
                connection.execute(text(f"SET LOCAL statement_timeout = '{KNOT_MILLISECONDS}ms'"))
                connection.execute(text(f"LOCK TABLE {tables} IN ACCESS EXCLUSIVE MODE"))
                connection.execute(text(f"SET LOCAL statement_timeout = '{STATEMENT_SECONDS}s'"))
        except OperationalError:
            if time.monotonic() >= ends:
                raise
            time.sleep(random.uniform(0.02, 0.2))  # noqa: S311 — a pause  # nosec B311
        else:
            return


def _spelled_out(kind: str, thing: Any, _context: AutogenContext) -> str | Literal[False]:
    """The service's column types as plain ones, so that no script depends on its later state."""
    if kind != "type" or not isinstance(thing, TypeDecorator):
        return False
    if isinstance(thing, Instant):
        return 'sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")'
    return f"sa.{thing.impl!r}"


def _run(connection: Connection) -> None:
    sqlite = connection.dialect.name == "sqlite"
    context.configure(
        connection=connection,
        target_metadata=metadata,
        render_as_batch=sqlite,
        render_item=_spelled_out,
        transactional_ddl=True,
        transaction_per_migration=False,
    )
    with context.begin_transaction():
        if not sqlite:
            _take_turns(connection)
            _take_tables(connection)
        context.run_migrations()
        if sqlite and (broken := connection.execute(text("PRAGMA foreign_key_check")).all()):
            raise RuntimeError(f"the migration left references to nothing: {broken[:5]}")


def run() -> None:
    """Run the migrations over a connection of their own, all in one transaction."""
    if context.is_offline_mode():
        raise SystemExit("migrations look at the database; run them against one, not as a script")
    engine = open_migration_engine(_url(), STATEMENT_SECONDS)
    try:
        with engine.connect().execution_options(**{BEGIN: "BEGIN IMMEDIATE"}) as connection:
            _run(connection)
    finally:
        engine.dispose()


run()
