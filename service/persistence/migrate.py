"""Bring a database to the level of this release, and say whether it is there.

Alembic runs with the same scripts as on its own command line. The address travels as an object, so
that a password in it is neither written to a configuration nor logged.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import URL, Engine

from service.persistence.engine import reading


def _config(url: URL | None = None) -> Config:
    config = Config()
    location = str(files("migrations"))
    config.set_main_option("script_location", location.replace("%", "%%"))
    config.attributes["url"] = url
    return config


@cache
def head() -> str:
    """The level that this release works with."""
    found = ScriptDirectory.from_config(_config()).get_current_head()
    if found is None:
        raise RuntimeError("this release carries no migrations; it was not built whole")
    return found


def level(engine: Engine) -> str:
    """The level that the database is at; "" where it was never migrated."""
    with reading(engine).connect() as connection:
        return MigrationContext.configure(connection).get_current_revision() or ""


def is_migrated(engine: Engine) -> bool:
    """Whether the database is at the level of this release."""
    return level(engine) == head()


def is_ahead(engine: Engine) -> bool:
    """Whether a later release has brought the database to a level that this one does not know."""
    found = level(engine)
    return bool(found) and found not in _known()


@cache
def _known() -> frozenset[str]:
    scripts = ScriptDirectory.from_config(_config()).walk_revisions()
    return frozenset(script.revision for script in scripts)


def migrate(url: URL, to: str = "head") -> None:
    """Bring the database up to a level, by default to that of this release."""
    command.upgrade(_config(url), to)


def take_back(url: URL, to: str) -> None:
    """Bring the database down to an earlier level; "base" leaves nothing of it."""
    command.downgrade(_config(url), to)
