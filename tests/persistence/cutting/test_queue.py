"""The queue of plans in PostgreSQL: its tables are the library's, and it takes each plan once."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib.resources import files

import pytest
from alembic.script import ScriptDirectory
from procrastinate.schema import SchemaManager
from sqlalchemy import Connection, Engine, text

from schemas.cutting.plans import WrittenPlans
from service.app.cutting.background import PlanWork
from service.app.prices.book import BookShelf
from service.persistence.cutting.queue import QueueJobs
from service.persistence.sql import level
from service.persistence.unit_of_work import UnitsOfWork
from service.wiring import TimeOrderedIds

pytestmark = pytest.mark.postgres
PARTS = (
    "SELECT table_name, column_name, data_type, is_nullable, column_default"
    " FROM information_schema.columns WHERE table_schema = :schema",
    "SELECT indexdef FROM pg_indexes WHERE schemaname = :schema",
    "SELECT proname, pg_get_function_arguments(p.oid), prosrc FROM pg_proc p"
    " JOIN pg_namespace n ON n.oid = pronamespace WHERE nspname = :schema",
    "SELECT tgname, pg_get_triggerdef(t.oid) FROM pg_trigger t JOIN pg_class c ON c.oid = tgrelid"
    " JOIN pg_namespace n ON n.oid = relnamespace WHERE nspname = :schema AND NOT tgisinternal",
    "SELECT typname, enumlabel FROM pg_enum JOIN pg_type t ON t.oid = enumtypid"
    " JOIN pg_namespace n ON n.oid = typnamespace WHERE nspname = :schema",
)


def test_our_migration_knows_the_librarys_last_one() -> None:
    # Where this fails, the library asks for more: add a migration that runs what is new.
    script = ScriptDirectory.from_config(level.configuration()).get_revision("0006")
    assert script is not None
    folder = files("procrastinate.sql").joinpath("migrations")
    assert max(e.name for e in folder.iterdir() if e.name.endswith(".sql")) == script.module.LAST


def described(connection: Connection, schema: str) -> list[list[str]]:
    """All that is in a schema, without its name and without blanks."""
    found = []
    for statement in PARTS:
        rows = connection.execute(text(statement), {"schema": schema}).all()
        told = (" ".join(str(tuple(row)).replace(f"{schema}.", "").split()) for row in rows)
        found.append(sorted(told))
    return found


def test_the_migrated_queue_is_the_one_that_the_library_would_make(postgres_engine: Engine) -> None:
    with postgres_engine.connect() as connection:
        connection.exec_driver_sql("CREATE SCHEMA made_anew")
        connection.exec_driver_sql("SET LOCAL search_path TO made_anew")
        connection.exec_driver_sql(SchemaManager.get_schema().replace("%", "%%"))
        assert described(connection, "procrastinate") == described(connection, "made_anew")
        connection.rollback()


def test_a_plan_that_is_put_twice_waits_once(postgres_engine: Engine) -> None:
    units = UnitsOfWork(postgres_engine)
    shelf = BookShelf(units, 1, lambda: 0)
    work = PlanWork(units, shelf, WrittenPlans(), lambda: datetime.now(UTC), TimeOrderedIds())
    jobs = QueueJobs(postgres_engine, work, here=False)
    for plan in ("a", "b", "a"):
        jobs.put("shop", plan)
    jobs.start()  # which begins nothing, since other processes are to work
    with postgres_engine.connect() as connection:
        kept = "SELECT args ->> 'plan_id', status FROM procrastinate.procrastinate_jobs ORDER BY id"
        assert connection.exec_driver_sql(kept).all() == [("a", "todo"), ("b", "todo")]
    jobs.close()
