"""The service for the tests: over each kind of database where storage matters, else over SQLite."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.world import World, make_world


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def world(request: pytest.FixtureRequest) -> Iterator[World]:
    """The service over an own database: once for each kind."""
    if request.param == "sqlite":
        url: str = request.getfixturevalue("sqlite_url")
    else:
        request.getfixturevalue("postgres_engine")  # which empties the database afterwards
        url = request.getfixturevalue("migrated_postgres")
    made = make_world(url)
    yield made
    made.wiring.close()


@pytest.fixture(scope="module")
def still_world(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """The service over SQLite, for a module's tests that store nothing."""
    path = tmp_path_factory.mktemp("still") / "still.sqlite3"
    shutil.copyfile(migrated_sqlite, path)
    made = make_world(f"sqlite:///{path}")
    yield made
    made.wiring.close()
