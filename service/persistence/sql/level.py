"""The schema level of a database: reading it, comparing it with this release, and migrating."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from sqlalchemy import URL, Engine, inspect, text

from service.persistence.sql.engine import reading

if TYPE_CHECKING:  # servers never migrate, and alembic takes some megabytes
    from alembic.config import Config


def configuration(url: URL | None = None) -> Config:
    """Return alembic's configuration: the scripts and the database."""
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    location = str(files("migrations"))
    config.set_main_option("script_location", location.replace("%", "%%"))
    config.attributes["url"] = url
    return config


def migrate(url: URL, to: str = "head") -> None:
    """Migrate the database up to a level, by default to that of this release."""
    from alembic import command  # noqa: PLC0415

    command.upgrade(configuration(url), to)


def take_back(url: URL, to: str) -> None:
    """Migrate the database down to an earlier level; "base" removes everything."""
    from alembic import command  # noqa: PLC0415

    command.downgrade(configuration(url), to)


_LEVEL = text("SELECT version_num FROM alembic_version")


@cache
def levels() -> tuple[str, ...]:
    """Return the levels that this release knows, lowest first."""
    names = (entry.name for entry in files("migrations").joinpath("versions").iterdir())
    return tuple(sorted(name.partition("_")[0] for name in names if name.endswith(".py")))


def head() -> str:
    """Return the level that this release works with."""
    if not levels():
        raise RuntimeError("this release carries no migrations; it was not built whole")
    return levels()[-1]


def level(engine: Engine) -> str:
    """Return the database's level; "" if it was never migrated."""
    with reading(engine).connect() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return ""
        return str(connection.execute(_LEVEL).scalar() or "")


def is_migrated(engine: Engine) -> bool:
    """Return True if the database is at the level of this release."""
    return level(engine) == head()


def is_ahead(engine: Engine) -> bool:
    """Return True if the database is at a level unknown to this release, set by a later one."""
    found = level(engine)
    return bool(found) and found not in levels()
