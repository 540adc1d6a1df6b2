"""The start of every command: the settings, and its errors as plain sentences."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

import click
from sqlalchemy.exc import SQLAlchemyError

from service.domain.errors import DomainError
from service.env_file import environment
from service.persistence.retention.records import ArchiveUnavailable
from service.persistence.sql.engine import UnknownDatabase, is_missing, shown
from service.persistence.sql.level import is_migrated
from service.persistence.sql.session import StorageUnavailable
from service.persistence.unit_of_work import UnitOfWork
from service.settings import BadSettings, Settings
from service.settings_check import weaknesses
from service.wiring import Wiring, wire


def settings() -> Settings:
    """Return the settings of this environment and of the file `.env`.

    Raises:
        ClickException: they are invalid; it names every fault.
    """
    try:
        return Settings.read(environment())
    except BadSettings as error:
        lines = "\n".join(f"  {fault}" for fault in error.faults)
        raise click.ClickException(f"the settings do not make sense:\n{lines}") from error


@contextmanager
def wired() -> Iterator[Wiring]:
    """Provide the service for the length of a command; refusals become plain sentences.

    Each names the database: with another folder or setting the command would use a different one.

    Raises:
        ClickException: the settings or the database do not allow it, or a rule refuses it.
    """
    with plainly():
        wiring = wire(settings())
    try:
        with plainly():
            yield wiring
    except click.UsageError:
        raise
    except click.ClickException as error:
        which = f"The database is {shown(wiring.engine.url)}; DATABASE_URL chooses it."
        raise click.ClickException(f"{error.message}\n{which}") from error
    finally:
        wiring.close()


@contextmanager
def plainly() -> Iterator[None]:
    """Turn refusals into one sentence on standard error, without traces or passwords.

    Raises:
        ClickException: in place of each of them.
    """
    try:
        yield
    except DomainError as error:
        raise click.ClickException(error.message) from error
    except ArchiveUnavailable as error:
        raise click.ClickException(str(error)) from error
    except UnknownDatabase as error:
        raise click.ClickException(f"DATABASE_URL: {error}") from error
    except (SQLAlchemyError, StorageUnavailable) as error:
        raise click.ClickException(_cause(error)) from error


def _cause(error: BaseException) -> str:
    """Return the driver's message, which contains neither statement nor address."""
    while not (original := getattr(error, "orig", None)) and error.__cause__:
        error = error.__cause__
    return f"the database refused: {str(original or error).strip()}"


def need_sound(settings: Settings) -> None:
    """Check that the settings are secure.

    Raises:
        ClickException: they are not; it names every weakness.
    """
    weak = weaknesses(settings, os.environ)
    if weak:
        lines = "\n".join(f"  {each}" for each in weak)
        raise click.ClickException(f"these settings are not safe to start with:\n{lines}")


def need_migrated(wiring: Wiring) -> None:
    """Check that the database is at the level of this release.

    Raises:
        ClickException: it is not; it says what to do.
    """
    if is_missing(wiring.engine.url):
        raise click.ClickException("there is no database yet; run `framing-quotes migrate` first")
    if not is_migrated(wiring.engine):
        raise click.ClickException(
            "the database is not at the level of this release; run `framing-quotes migrate` first"
        )


def only_code(uow: UnitOfWork) -> str:
    """Return the code of the database's only shop.

    Raises:
        ClickException: it has several, or none.
    """
    codes = uow.shops.codes()
    if len(codes) == 1:
        return codes[0]
    raise click.ClickException(
        f"say which shop with --shop: {', '.join(codes)}" if codes else "there is no shop yet"
    )
