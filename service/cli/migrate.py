"""`framing-quotes migrate`: migrate the database to the level of this release."""

from __future__ import annotations

import logging

import click

from schemas.quotes.figures.documents import keep
from schemas.quotes.records import Revision
from schemas.quotes.stored import worked
from schemas.wire.record import encode
from service.cli.start import wired
from service.persistence.quotes import Place
from service.persistence.sql.engine import shown
from service.persistence.sql.level import level
from service.persistence.unit_of_work import UnitsOfWork

log = logging.getLogger(__name__)
AT_ONCE = 50
"""The revisions of one transaction."""


@click.command()
def migrate() -> None:
    """Bring the database to the level of this release. Running it again changes nothing."""
    from service.persistence.sql import level as migrations  # noqa: PLC0415 — it loads alembic

    with wired() as wiring:
        before = level(wiring.engine)
        migrations.migrate(wiring.engine.url)
        after = level(wiring.engine)
        if before == after:
            click.echo(f"The database is at level {after} already.")
        else:
            click.echo(f"The database is now at level {after} (it was at {before or 'none'}).")
        filled = fill_figures(wiring.units)
        if filled:
            click.echo(f"{filled} revisions of quotes now keep their figures.")
        found = fill_words(wiring.units)
        if found:
            click.echo(f"{found} quotes are now found by their words.")
        click.echo(f"It is {shown(wiring.engine.url)}.")


def fill_figures(units: UnitsOfWork) -> int:
    """Give every stored revision its figures, and return the number of those that had none.

    Releases before figures stored them. Each transaction is short, so the service may run
    meanwhile; what is not filled yet is read from its answer. A revision that cannot be read stays
    as it is, and is named in the log.
    """
    count, after = 0, ("", 0)
    while True:
        with units.reading() as uow:
            found = uow.quotes.without_figures(after, AT_ONCE)
        figures = [(place, _figures(place, revision)) for place, revision in found]
        with units.writing() as uow:
            for place, kept in figures:
                if kept is not None:
                    uow.quotes.keep_figures(place, kept)
                    count += 1
            uow.commit()
        if len(found) < AT_ONCE:
            return count
        after, _ = found[-1]


def fill_words(units: UnitsOfWork) -> int:
    """Have every stored quote found by its words, and return the number of those that were not.

    Releases before the search stored them. Each transaction is short, as in `fill_figures`.
    """
    count, after = 0, ""
    while True:
        with units.writing() as uow:
            missing = uow.quotes.without_words(after, AT_ONCE)
            for quote_id in missing:
                uow.quotes.find_by_words(quote_id)
            uow.commit()
        count += len(missing)
        if len(missing) < AT_ONCE:
            return count
        after = missing[-1]


def _figures(place: Place, revision: Revision) -> bytes | None:
    """Return a revision's figures as its answer tells them; None if it cannot be read."""
    try:
        return encode(keep(worked(revision)))
    except Exception:  # whatever is wrong with one quote, the others go on
        log.exception("revision %s of quote %s cannot be read", place[1], place[0])
        return None
