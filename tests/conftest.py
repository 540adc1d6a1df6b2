"""Databases for the tests: both kinds, made by the real migrations once a session.

A SQLite test gets a copy of the migrated file. A PostgreSQL test gets the one migrated database,
emptied afterwards. So every test commits for real, from as many connections as it likes.

Where there is no PostgreSQL (see `databases.py`) the tests fail: half of what they are for would
otherwise go untested in silence. FRAMING_QUOTES_SKIP_POSTGRES=1 skips them on purpose.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from sqlalchemy import Engine

from service.persistence.sql.engine import database_url, open_engine
from service.persistence.sql.level import migrate
from service.persistence.unit_of_work import UnitsOfWork
from service.settings import ENV_FILE
from tests.databases import empty, new_database, postgres

# The same cases every time, however slow or busy the machine is.
settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")
SECONDS = float(os.environ.get("TEST_SECONDS", "inf"))
BEGUN = time.monotonic()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup() -> None:
    """Skip what is left once TEST_SECONDS are over, as in `sh deploy/test.sh --quick`."""
    if time.monotonic() - BEGUN > SECONDS:
        pytest.skip(f"the {SECONDS:g} seconds of a quick run are over")


# No test, and no command that one starts, reads the `.env` of whoever works here.
os.environ[ENV_FILE] = ""


@pytest.fixture(scope="session")
def migrated_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file that nobody writes to."""
    path = tmp_path_factory.mktemp("sqlite") / "migrated.sqlite3"
    migrate(database_url(f"sqlite:///{path}"))
    return path


@pytest.fixture
def sqlite_url(migrated_sqlite: Path, tmp_path: Path) -> str:
    """The address of a migrated SQLite file of the test's own."""
    path = tmp_path / "test.sqlite3"
    shutil.copyfile(migrated_sqlite, path)
    return f"sqlite:///{path}"


@pytest.fixture
def sqlite_engine(sqlite_url: str) -> Iterator[Engine]:
    """An engine over a migrated SQLite file of the test's own."""
    engine = open_engine(sqlite_url)
    yield engine
    engine.dispose()


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """The address of a PostgreSQL server on which databases may be made."""
    if os.environ.get("FRAMING_QUOTES_SKIP_POSTGRES") == "1":
        pytest.skip("FRAMING_QUOTES_SKIP_POSTGRES=1 says to go without PostgreSQL")
    with postgres() as url:
        yield url


@pytest.fixture
def fresh_postgres(postgres_server: str) -> Iterator[str]:
    """The address of an empty PostgreSQL database of the test's own, not migrated."""
    with new_database(postgres_server) as url:
        yield url


@pytest.fixture(scope="session")
def migrated_postgres(postgres_server: str) -> Iterator[str]:
    """The address of the migrated PostgreSQL database that tests share, one after the other."""
    with new_database(postgres_server) as url:
        migrate(database_url(url))
        yield url


@pytest.fixture
def postgres_engine(migrated_postgres: str) -> Iterator[Engine]:
    """An engine over the migrated PostgreSQL database, which is emptied after the test."""
    engine = open_engine(migrated_postgres)
    yield engine
    with engine.begin() as connection:
        empty(connection)
    engine.dispose()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def engine(request: pytest.FixtureRequest) -> Engine:
    """An engine over a migrated, empty database: once for each kind."""
    found: Engine = request.getfixturevalue(f"{request.param}_engine")
    return found


@pytest.fixture
def units(engine: Engine) -> UnitsOfWork:
    """Units of work over each kind of database."""
    return UnitsOfWork(engine)
