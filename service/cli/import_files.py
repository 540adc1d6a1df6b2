"""`framing-quotes import`: catalogue, costs and price lists from CSV files."""

from __future__ import annotations

import json
from contextlib import ExitStack
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from schemas.csv_files import ORDER
from schemas.labour_standards import load_labour_standard
from schemas.shop import load_shop
from service.app.cataloguing import Changing
from service.app.events import NOBODY
from service.app.ports import UnitOfWork
from service.cli.export_files import SHOP_FILE, STANDARDS_FILE
from service.cli.import_rows import Files, Report, check, store
from service.cli.start import need_migrated, plainly, wired
from service.domain.errors import NotFound
from service.wiring import Wiring

PLACE = click.Path(exists=True, path_type=Path)


@click.command("import")
@click.argument("places", type=PLACE, nargs=-1, required=True)
@click.option("--shop", "code", required=True, help="The shop's code.")
@click.option("--dry-run", is_flag=True, help="Do everything and keep nothing.")
@click.option(
    "--skip-faulty",
    is_flag=True,
    help="Store the rows that are well; without it one faulty row keeps everything out.",
)
def import_files(places: tuple[Path, ...], code: str, dry_run: bool, skip_faulty: bool) -> None:
    """Store what the CSV files in PLACES (files, or a folder of them) say.

    The name of a file says what is in it: mouldings.csv, boards.csv, glazing.csv, fillets.csv,
    hardware.csv, supplies.csv, costs.csv, price_lists.csv with breaks.csv and rules.csv. A folder
    that `export` wrote may also set a shop up: shop.json and labour_standards.json are read first.
    """
    with plainly(), wired() as wiring:
        need_migrated(wiring)
        paths = _paths(places)
        report = Report(lambda line: click.echo(line, err=True))
        shop_id = _shop(wiring, code, paths, dry_run=dry_run)
        unit = _unit(wiring, shop_id)
        files = Files({name: paths[name] for name in ORDER if name in paths}, unit)
        if not skip_faulty:
            check(files, report)
            if report.faulty:
                raise click.ClickException(f"{report.faulty} rows are wrong; nothing was stored")
        _store(wiring, shop_id, files, report, _Wish(dry_run, skip_faulty))
    _tell(report, dry_run=dry_run)
    if report.faulty:
        raise click.exceptions.Exit(2 if skip_faulty else 1)


@dataclass(frozen=True, slots=True)
class _Wish:
    dry_run: bool
    skip_faulty: bool


def _paths(places: tuple[Path, ...]) -> dict[str, Path]:
    """The files by name.

    Raises:
        ClickException: a file that is none of those that are known, or one that is named twice.
    """
    known = {f"{name}.csv": name for name in ORDER}
    known |= {SHOP_FILE: SHOP_FILE, STANDARDS_FILE: STANDARDS_FILE}
    found: dict[str, Path] = {}
    for place in places:
        inside = (
            sorted(p for p in place.iterdir() if p.name in known) if place.is_dir() else [place]
        )
        for path in inside:
            name = known.get(path.name)
            if name is None:
                told = ", ".join(known)
                raise click.ClickException(
                    f"{path.name} is not a file known here; there are {told}"
                )
            if name in found:
                raise click.ClickException(f"{path.name} is there twice; which is meant?")
            found[name] = path
    return found


def _shop(wiring: Wiring, code: str, paths: dict[str, Path], *, dry_run: bool) -> str:
    """The shop's id; a shop that is not there yet is set up from its own file.

    Raises:
        NotFound: there is no such shop, and no file to set it up from.
    """
    with wiring.units.writing() as uow:
        try:
            shop_id = uow.shops.by_code(code).id
        except NotFound:
            if SHOP_FILE not in paths or dry_run:
                raise
            shop = load_shop(_json(paths[SHOP_FILE]))
            if shop.code != code:
                raise
            shop_id = uow.shops.add(wiring.new_id(), shop).id
        else:
            if SHOP_FILE in paths:
                uow.shops.save(shop_id, load_shop(_json(paths[SHOP_FILE])))
        if STANDARDS_FILE in paths:
            _standards(uow, shop_id, _json(paths[STANDARDS_FILE]))
        if not dry_run:
            uow.commit()
    return shop_id


def _standards(uow: UnitOfWork, shop_id: str, document: Any) -> None:
    for each in document["standards"]:
        standard = load_labour_standard(each)
        uow.labour_standards.put(shop_id, standard, in_use=standard.code == document["in_use"])


def _json(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)


def _unit(wiring: Wiring, shop_id: str) -> str:
    with wiring.units.reading() as uow:
        return uow.shops.by_id(shop_id).shop.ruler.unit


def _store(wiring: Wiring, shop_id: str, files: Files, report: Report, wish: _Wish) -> None:
    """In one transaction, or where faulty rows are skipped in one for each batch."""
    whole = wish.dry_run or not wish.skip_faulty
    with ExitStack() as stack:
        open_now: list[UnitOfWork] = []

        def changing() -> Changing:
            if not open_now:
                uow = stack.enter_context(wiring.units.writing())
                uow.shops.take_turn(shop_id)
                open_now.append(uow)
            return Changing(open_now[-1], shop_id, NOBODY, wiring.clock())

        def kept() -> None:
            if not whole:
                open_now.pop().commit()
                stack.close()

        store(files, report, changing, kept)
        if report.faulty and not wish.skip_faulty:
            raise click.ClickException(f"{report.faulty} rows are wrong; nothing was stored")
        if open_now and not wish.dry_run:
            open_now.pop().commit()


def _tell(report: Report, *, dry_run: bool) -> None:
    for name, tally in report.tallies.items():
        click.echo(
            f"{name}: {tally.created} new, {tally.changed} changed, {tally.same} as they were"
        )
    if report.faulty:
        click.echo(f"{report.faulty} rows are wrong and were left out")
    if dry_run:
        click.echo("nothing was stored: this was a dry run")
