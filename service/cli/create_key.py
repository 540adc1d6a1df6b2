"""`framing-quotes create-key`: a new API key for a shop."""

from __future__ import annotations

from datetime import datetime, timedelta

import click

from schemas.keys import SCOPES
from service.app.keys import access
from service.cli.start import need_migrated, wired
from service.persistence.sql.engine import shown


@click.command("create-key")
@click.option("--shop", required=True, help="The shop's code.")
@click.option("--name", required=True, help="What the key is for, such as “counter, left till”.")
@click.option(
    "--scope",
    "scopes",
    multiple=True,
    required=True,
    type=click.Choice(SCOPES),
    help="What it may do; give it once for each scope.",
)
@click.option("--days", type=click.IntRange(1, 3650), help="In force for so many days from now.")
def create_key(shop: str, name: str, scopes: tuple[str, ...], days: int | None) -> None:
    """Make a key and print its token. The token is shown this once and is stored nowhere."""
    with wired() as wiring:
        need_migrated(wiring)
        now = wiring.clock()
        ends: datetime | None = now + timedelta(days=days) if days else None
        with wiring.units.writing() as uow:
            record = uow.shops.by_code(shop)
            issued = access.create_key(uow, record.id, name, scopes, now, ends)
            uow.commit()
    click.echo(issued.token)
    where = shown(wiring.engine.url)
    click.echo(f"A key for the shop {shop} in {where}.", err=True)
    click.echo("Keep it now: it cannot be shown again.", err=True)
