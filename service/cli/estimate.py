"""`framing-quotes estimate FILE`: a quote and its cut list in the terminal, without a server.

With `--bulk` FILE holds a document a line, and every line gets a line of answer.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import click
import orjson

from schemas.estimates.answer import estimate_document
from service.api.estimates.body import read_request
from service.api.http.body import read_json
from service.app.estimates.calculation import basis_on, estimate_request
from service.app.prices.book import load_book
from service.cli.bulk import estimate_lines
from service.cli.start import need_migrated, plainly, wired
from service.demo import demo_catalogue, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis
from service.domain.quotes.life import shop_day
from service.printing.quotes.text import quote_text

DOCUMENT = click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path)


@click.command()
@click.argument("file", type=DOCUMENT)
@click.option("--shop", "code", help="A shop of the database; without it the invented demo shop.")
@click.option("--json", "as_json", is_flag=True, help="The whole answer as JSON.")
@click.option(
    "--bulk", is_flag=True, help="FILE holds a document a line; write an answer a line (NDJSON)."
)
@click.option(
    "--processes",
    type=click.IntRange(1, 256),
    help="With --bulk: how many work at once; default one for each processor, for a long file.",
)
def estimate(
    file: Path, code: str | None, as_json: bool, bulk: bool, processes: int | None
) -> None:
    """Work out the job document in FILE (- for standard input) and print its quote."""
    with plainly():
        basis = _basis(code)
        if bulk:
            estimate_lines(file, basis, processes)
            return
        try:
            request = read_request(read_json(_text(file)), basis)
            done = estimate_request(request.jobs, basis, request.conditions)
        except JobRefused as refused:
            faults = "\n".join(f"  {f.pointer or '/'}: {f.detail}" for f in refused.faults())
            raise click.ClickException(f"the document does not make sense:\n{faults}") from refused
    document = estimate_document(done)
    if as_json:
        click.echo(orjson.dumps(document, option=orjson.OPT_INDENT_2).decode())
        return
    click.echo(f"{basis.shop.name}, price list {basis.price_list.code}\n")
    click.echo(quote_text(document, basis.shop.ruler.unit))


def _text(file: Path) -> bytes:
    if str(file) == "-":
        return sys.stdin.buffer.read()
    return file.read_bytes()


def _basis(code: str | None) -> Basis:
    """What to work with: the shop of the database, or the invented demo shop.

    Raises:
        DomainError: there is no such shop, or it has no prices or times yet.
    """
    if code is None:
        return Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
    with wired() as wiring:
        need_migrated(wiring)
        with wiring.units.reading() as uow:
            book = load_book(uow, uow.shops.by_code(code).id)
    return basis_on(book, shop_day(book.shop, datetime.now(UTC)))
