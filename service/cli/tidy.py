"""`framing-quotes tidy` and `forget-customer`: keep only what is needed."""

from __future__ import annotations

import click

from service.app import retention
from service.app.retention import Terms
from service.cli.start import need_migrated, wired
from service.domain.errors import NotFound
from service.wiring import Wiring


@click.command()
@click.option("--shop", help="The code of one shop; all of them by default.")
def tidy(shop: str | None) -> None:
    """Erase what was kept for longer than the FRAMING_QUOTES_KEEP_ settings say.

    Quotes that were never accepted, events that every webhook has read, customers of old quotes,
    answers kept for requests sent again, and keys long out of force. Run it once a night.
    """
    with wired() as wiring:
        need_migrated(wiring)
        settings = wiring.settings
        terms = Terms(
            unsold_days=settings.keep_unsold_days,
            events_days=settings.keep_events_days,
            customers_days=settings.keep_customers_days,
        )
        with wiring.units.reading() as uow:
            codes = [shop] if shop else list(uow.shops.codes())
        for code in codes:
            done = retention.tidy(wiring.units, _shop(wiring, code), terms, wiring.clock())
            click.echo(
                f"{code}: erased {done.quotes} unsold quotes, {done.events} events, "
                f"{done.customers} customers of old quotes, {done.answers} kept answers, "
                f"{done.keys} keys long out of force"
            )


@click.command("forget-customer")
@click.option("--shop", required=True, help="The shop's code.")
@click.option("--email", required=True, help="The address that the quotes name.")
@click.confirmation_option(prompt="What is erased cannot be brought back. Go on?")
def forget_customer(shop: str, email: str) -> None:
    """Take a customer who asks for it out of every quote; the quotes' figures stay."""
    with wired() as wiring:
        need_migrated(wiring)
        count = retention.forget(wiring.units, _shop(wiring, shop), email, wiring.clock())
    click.echo(f"{count} quotes name nobody now. Backups made before this still do.")


def _shop(wiring: Wiring, code: str) -> str:
    """The shop's id.

    Raises:
        ClickException: there is no such shop.
    """
    try:
        with wiring.units.reading() as uow:
            return uow.shops.by_code(code).id
    except NotFound as error:
        raise click.ClickException(error.message) from error
