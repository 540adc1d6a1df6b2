"""`framing-quotes tidy` and `forget-customer`: erase what is no longer needed."""

from __future__ import annotations

import click

from service.app import retention
from service.app.retention import Erased, Terms
from service.cli.start import need_migrated, wired
from service.domain.errors import NotFound
from service.wiring import Wiring


@click.command()
@click.option("--shop", help="The code of one shop; all of them by default.")
def tidy(shop: str | None) -> None:
    """Erase what was kept for longer than the FRAMING_QUOTES_KEEP_ settings say.

    Quotes that were never accepted, events that every webhook has read, customers of old quotes,
    answers kept for requests sent again, and keys long out of force. Run it once a night.

    With FRAMING_QUOTES_ARCHIVE the quotes and events are kept in files of that folder; `archived`
    looks into them.
    """
    with wired() as wiring:
        if wiring.archive:
            wiring.archive.ready()
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
            shop_id = _shop(wiring, code)
            done = retention.tidy(wiring.units, shop_id, terms, wiring.clock(), wiring.archive)
            click.echo(
                f"{code}: erased {done.quotes} unsold quotes, {done.events} events, "
                f"{done.customers} customers of old quotes, {done.answers} kept answers, "
                f"{done.keys} keys long out of force{_archived(wiring, done)}"
            )


@click.command("forget-customer")
@click.option("--shop", required=True, help="The shop's code.")
@click.option("--email", required=True, help="The address that the quotes name.")
@click.confirmation_option(prompt="What is erased cannot be brought back. Go on?")
def forget_customer(shop: str, email: str) -> None:
    """Take a customer who asks for it out of every quote; the quotes' figures stay.

    Out of the archive too, where FRAMING_QUOTES_ARCHIVE names one.
    """
    with wired() as wiring:
        if wiring.archive:
            wiring.archive.ready()
        need_migrated(wiring)
        shop_id = _shop(wiring, shop)
        done = retention.forget(wiring.units, shop_id, email, wiring.clock(), wiring.archive)
        too = f" and {done.archived} archived ones" if wiring.archive else ""
    click.echo(f"{done.quotes} quotes{too} name nobody now. Backups made before this still do.")


def _archived(wiring: Wiring, done: Erased) -> str:
    if not wiring.archive:
        return ""
    return (
        f"; archived {done.archived_quotes} quotes, {done.archived_events} events; "
        f"took {done.archived_customers} customers out of the archive"
    )


def _shop(wiring: Wiring, code: str) -> str:
    """Return the shop's id.

    Raises:
        ClickException: there is no such shop.
    """
    try:
        with wiring.units.reading() as uow:
            return uow.shops.by_code(code).id
    except NotFound as error:
        raise click.ClickException(error.message) from error
