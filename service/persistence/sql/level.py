"""The schema level of a database: read it, compare it with this release, migrate up or down."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from alembic import command
from alembic.config import Config
from sqlalchemy import URL, Engine, inspect, text

from service.persistence.sql.engine import reading


def configuration(url: URL | None = None) -> Config:
    """What alembic is told: where the scripts are, and which database."""
    config = Config()
    location = str(files("migrations"))
    config.set_main_option("script_location", location.replace("%", "%%"))
    config.attributes["url"] = url
    return config


def migrate(url: URL, to: str = "head") -> None:
    """Bring the database up to a level, by default to that of this release."""
    command.upgrade(configuration(url), to)


def take_back(url: URL, to: str) -> None:
    """Bring the database down to an earlier level; "base" leaves nothing of it."""
    command.downgrade(configuration(url), to)


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
