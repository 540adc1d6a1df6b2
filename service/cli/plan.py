"""`framing-quotes plan`: a cutting plan from a JSON document, a CSV list of pieces, or tickets."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
import orjson

from schemas.cutting.plans import WrittenPlans, dry_document, stored_plan_document
from schemas.cutting.request import read_plan_request
from schemas.wire.figures import Json
from service.api.http.body import read_json
from service.app.audit import NOBODY
from service.app.cutting.background import store
from service.app.cutting.commit import commit
from service.app.cutting.materials import Supplies
from service.app.cutting.planning import PlanBasis, make_plan, read_basis
from service.app.keys.actor import Planner
from service.app.prices.book import load_book
from service.cli.pieces_file import WANTED, asked_for, work_of
from service.cli.private_files import private_file
from service.cli.start import need_migrated, only_code, plainly, wired
from service.demo import demo_catalogue, demo_shop
from service.domain.cutting.watch import Watch
from service.domain.errors import JobRefused
from service.domain.shop import Shop
from service.printing.cutting.rows import plan_html
from service.printing.cutting.text import plan_text
from service.printing.on_demand import plan_pdf

FORMS = ("text", "json", "html", "pdf")
WIDEST = 100
DOCUMENTS = WrittenPlans()


@click.command()
@click.argument("file", type=WANTED, required=False)
@click.option("--ticket", "tickets", multiple=True, help="A ticket to cut; may be given again.")
@click.option("--open", "open_tickets", is_flag=True, help="All tickets that are not finished.")
@click.option("--shop", "code", help="The shop's code; needed where the database has several.")
@click.option("--store", "keep", is_flag=True, help="Store the plan.")
@click.option("--commit", "book", is_flag=True, help="Store it, take the stock, book the offcuts.")
@click.option("--cut-by", multiple=True, help="What cuts an item: HB-3=saw, scored or table.")
@click.option("--kerf", multiple=True, help="What a cut of an item takes: HB-3=1/8 in.")
@click.option("--edge-trim", multiple=True, help="What each edge of its sheets loses: HB-3=1/4 in.")
@click.option("--colour", multiple=True, help="How it is kept: MLD-1=stick, batch or any.")
@click.option("--no-turn", multiple=True, help="An item whose pieces may not be turned.")
@click.option("--form", type=click.Choice(FORMS), help="By default that of --out, else text.")
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), help="Write it there.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True)
def plan(
    file: Path | None,
    tickets: tuple[str, ...],
    open_tickets: bool,
    code: str | None,
    keep: bool,
    book: bool,
    cut_by: tuple[str, ...],
    kerf: tuple[str, ...],
    edge_trim: tuple[str, ...],
    colour: tuple[str, ...],
    no_turn: tuple[str, ...],
    form: str | None,
    out: Path | None,
    paper: str,
) -> None:
    """Plan which sheet and stick each piece comes from.

    What is to be cut stands in FILE (JSON as POST /v1/cutting-plans takes it, or CSV with the
    columns item, quantity, width, height, length, name, may_turn), or is taken from tickets. A FILE
    alone is planned for the invented demo shop, unless --shop says for which.
    """
    form = form or _form_of(out)
    if form == "pdf" and out is None:
        raise click.UsageError("a PDF goes into a file: say which with --out")
    if file is None and not tickets and not open_tickets:
        raise click.UsageError("say what is to be cut: a FILE, --ticket or --open")
    with plainly(), _faults_named():
        work = work_of(cut_by, kerf, edge_trim, colour, no_turn)
        asked = asked_for(file, tickets, open_tickets=open_tickets, work=work)
        if code or tickets or open_tickets or keep or book:
            document, shop = _of_the_shop(asked, code, keep=keep, book=book)
        else:
            document, shop = _of_the_demo(asked)
    _write(document, shop, form, out, paper)


def _form_of(out: Path | None) -> str:
    suffix = out.suffix[1:].lower() if out else ""
    return {"htm": "html"}.get(suffix, suffix if suffix in FORMS else "text")


@contextmanager
def _faults_named() -> Iterator[None]:
    try:
        yield
    except JobRefused as refused:
        faults = "\n".join(f"  {f.pointer or '/'}: {f.detail}" for f in refused.faults())
        raise click.ClickException(f"the document does not make sense:\n{faults}") from refused


def _of_the_demo(asked: bytes) -> tuple[Json, Shop]:
    shop = demo_shop()
    request = read_plan_request(read_json(asked), shop.ruler.unit)
    supplies = Supplies(shop, demo_catalogue())
    basis = PlanBasis(request, request.pieces, (), supplies)
    with _progress() as watch:
        made = make_plan(basis, watch)
    return dry_document(*DOCUMENTS.written(made, shop), basis.pieces, with_costs=True), shop


def _of_the_shop(asked: bytes, code: str | None, *, keep: bool, book: bool) -> tuple[Json, Shop]:
    with wired() as wiring:
        need_migrated(wiring)
        with wiring.units.reading() as uow:
            of_shop = load_book(uow, uow.shops.by_code(code or only_code(uow)).id)
            request = read_plan_request(read_json(asked), of_shop.shop.ruler.unit)
            basis = read_basis(uow, of_shop, request, DOCUMENTS)
        with _progress() as watch:
            made = make_plan(basis, watch)
        written = DOCUMENTS.written(made, of_shop.shop)
        if not (keep or book):
            return dry_document(*written, basis.pieces, with_costs=True), of_shop.shop
        by = Planner(of_shop.shop_id, NOBODY, wiring.clock(), wiring.new_id)
        with wiring.units.writing() as uow:
            uow.shops.take_turn(of_shop.shop_id)
            stored = store(uow, basis, asked, (made, written), by)
            if book:
                stored = commit(uow, stored, by)
            uow.commit()
    return stored_plan_document(stored, with_costs=True), of_shop.shop


@contextmanager
def _progress() -> Iterator[Watch]:
    """Show a progress bar on standard error while a plan is made, if that is a terminal."""
    if not sys.stderr.isatty():
        yield Watch()
        return
    with click.progressbar(length=100, label="Planning", file=sys.stderr) as bar:

        def shown(done: int, total: int) -> None:
            bar.update(100 * done // max(total, 1) - bar.pos)

        yield Watch(shown)


def _write(document: Json, shop: Shop, form: str, out: Path | None, paper: str) -> None:
    if form == "pdf":
        written = plan_pdf(document, shop.name, paper)
    elif form == "html":
        written = plan_html(document, shop.name).encode()
    elif form == "json":
        written = orjson.dumps(document, option=orjson.OPT_INDENT_2) + b"\n"
    else:
        wide = WIDEST if out else min(shutil.get_terminal_size().columns, WIDEST)
        written = (plan_text(document, shop.name, wide) + "\n").encode()
    if out is None:
        click.echo(written, nl=False)
        return
    with private_file(out) as file:  # it shows material costs
        file.write(written)
    click.echo(f"{out}: {_told(document)}", err=True)


def _told(document: dict[str, Any]) -> str:
    """Return a one-line summary of the plan."""
    pieces = document["pieces"]
    made, wanted = (sum(p[name] for p in pieces) for name in ("planned", "quantity"))
    new = sum(item["new"] for item in document["items"])
    number = f"plan {document['number']}, " if document["number"] else ""
    return f"{number}{made} of {wanted} pieces from {new} new sheets and sticks"
