"""`framing-quotes migrate`: migrate the database to the level of this release."""

from __future__ import annotations

import click

from service.cli.start import wired
from service.persistence.sql.engine import shown
from service.persistence.sql.level import level


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
        click.echo(f"It is {shown(wiring.engine.url)}.")
