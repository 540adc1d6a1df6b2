"""Bring a database to the level of this release, or back to an earlier one.

Alembic runs with the same scripts as on its own command line. The address travels as an object, so
that a password in it is neither written to a configuration nor logged.
"""

from __future__ import annotations

from importlib.resources import files

from alembic import command
from alembic.config import Config
from sqlalchemy import URL


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
