"""The level of a database, and whether it is that of this release.

A level is the number that a migration's file begins with. Alembic, which makes the steps between
them, takes a quarter of a second to load; whoever only asks where a database stands need not wait.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from sqlalchemy import Engine, inspect, text

from service.persistence.sql.engine import reading

_LEVEL = text("SELECT version_num FROM alembic_version")


@cache
def levels() -> tuple[str, ...]:
    """The levels that this release knows, the lowest first."""
    names = (entry.name for entry in files("migrations").joinpath("versions").iterdir())
    return tuple(sorted(name.partition("_")[0] for name in names if name.endswith(".py")))


def head() -> str:
    """The level that this release works with."""
    if not levels():
        raise RuntimeError("this release carries no migrations; it was not built whole")
    return levels()[-1]


def level(engine: Engine) -> str:
    """The level that the database is at; "" where it was never migrated."""
    with reading(engine).connect() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return ""
        return str(connection.execute(_LEVEL).scalar() or "")


def is_migrated(engine: Engine) -> bool:
    """Whether the database is at the level of this release."""
    return level(engine) == head()


def is_ahead(engine: Engine) -> bool:
    """Whether a later release has brought the database to a level that this one does not know."""
    found = level(engine)
    return bool(found) and found not in levels()
