"""`framing-quotes ticket NUMBER`: a bench ticket in the terminal, for a bench without a screen."""

from __future__ import annotations

import shutil

import click
import orjson

from schemas.tickets.records import StoredTicket
from service.api.http.negotiation import printed_head
from service.cli.start import need_migrated, only_code, wired
from service.domain.errors import NotFound
from service.domain.quotes.numbers import QUOTES, TICKETS
from service.persistence.unit_of_work import UnitOfWork
from service.printing.language.spoken import speaking
from service.printing.tickets.text import ticket_text

WIDEST = 100


@click.command()
@click.argument("number")
@click.option("--shop", "code", help="The shop's code; needed where the database has several.")
@click.option("--width", type=click.IntRange(40, 200), help="Characters in a line.")
def ticket(number: str, code: str | None, width: int | None) -> None:
    """Print the ticket of this NUMBER (T…), or every ticket of a quote (Q…)."""
    wide = width or min(shutil.get_terminal_size().columns, WIDEST)
    with wired() as wiring:
        need_migrated(wiring)
        with wiring.units.reading() as uow:
            shop = uow.shops.by_code(code or only_code(uow))
            found = _tickets(uow, shop.id, number)
    for stored in found:
        with speaking(shop.shop.locale):
            head = printed_head(stored.head, shop.shop.name)
            text = ticket_text(orjson.loads(stored.document), head, wide)
        click.echo(f"{text}\nBench: {_progress(stored)}\n")


def _tickets(uow: UnitOfWork, shop_id: str, number: str) -> list[StoredTicket]:
    if not QUOTES.means(number):
        return [uow.tickets.by_serial(shop_id, TICKETS.read(number))]
    head = uow.quotes.by_serial(shop_id, QUOTES.read(number)).head
    found = [uow.tickets.by_id(shop_id, one.id) for one in uow.tickets.of_quote(shop_id, head.id)]
    if not found:
        raise NotFound(f"quote {head.number} has no tickets; they are made when it is accepted")
    return found


def _progress(stored: StoredTicket) -> str:
    """Return the progress in one line: the ticket's state, and the pieces by state."""
    counts: dict[str, int] = {}
    for lot in stored.lots:
        counts[lot.status] = counts.get(lot.status, 0) + lot.quantity
    pieces = ", ".join(f"{count} {state.replace('_', ' ')}" for state, count in counts.items())
    return f"ticket {stored.head.status.replace('_', ' ')}; pieces: {pieces}"
