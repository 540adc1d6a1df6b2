"""The migrations, up and down, on both databases."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, inspect, text

from service.persistence.sql.engine import database_url, open_engine
from service.persistence.sql.level import (
    configuration,
    head,
    is_migrated,
    level,
    levels,
    migrate,
    take_back,
)
from service.persistence.tables import metadata

CHECKOUT = Path(__file__).resolve().parents[2]


def test_the_migrated_schema_is_the_one_the_tables_describe(engine: Engine) -> None:
    with engine.connect() as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, metadata) == []


def test_every_check_constraint_is_migrated(engine: Engine) -> None:
    # Autogenerate does not compare check constraints, so they are compared here.
    seen = inspect(engine)
    for table in metadata.sorted_tables:
        described = {c.name for c in table.constraints if str(c.name).startswith("ck_")}
        migrated = {c["name"] for c in seen.get_check_constraints(table.name)}
        assert described == migrated, table.name


def _up_and_down(url: str) -> None:
    engine = open_engine(url)
    try:
        assert level(engine) == ""
        assert not is_migrated(engine)
        migrate(database_url(url))
        assert level(engine) == head()
        assert is_migrated(engine)
        migrate(database_url(url))  # a second time changes nothing
        take_back(database_url(url), "base")
        assert inspect(engine).get_table_names() == ["alembic_version"]
        migrate(database_url(url))
        assert set(inspect(engine).get_table_names()) == {*metadata.tables, "alembic_version"}
        take_back(database_url(url), "base")
    finally:
        with engine.begin() as connection:
            connection.execute(text("DROP TABLE IF EXISTS alembic_version"))
        engine.dispose()


def test_sqlite_goes_up_and_down(tmp_path: Path) -> None:
    _up_and_down(f"sqlite:///{tmp_path / 'a%20b.sqlite3'}")


@pytest.mark.postgres
def test_postgres_goes_up_and_down(fresh_postgres: str) -> None:
    _up_and_down(fresh_postgres)


def test_alembic_works_from_the_checkout(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'cli.sqlite3'}"
    for arguments in (["upgrade", "head"], ["check"], ["downgrade", "base"]):
        subprocess.run(
            [sys.executable, "-m", "alembic", *arguments],
            cwd=CHECKOUT,
            env={"DATABASE_URL": url},
            check=True,
            capture_output=True,
        )


def test_a_migration_that_fails_leaves_nothing_half_done(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'half.sqlite3'}"
    engine = open_engine(url)
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE quotes (id TEXT)"))  # stands in the way
    with pytest.raises(Exception, match="quotes already exists"):
        migrate(database_url(url))
    assert inspect(engine).get_table_names() == ["quotes"]
    engine.dispose()


def test_levels_told_by_files_are_those_of_alembic() -> None:
    scripts = ScriptDirectory.from_config(configuration())
    known = [script.revision for script in scripts.walk_revisions()]
    assert list(levels()) == known[::-1]
    assert head() == scripts.get_current_head()
