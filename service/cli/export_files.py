"""`framing-quotes export`: a shop's catalogue, costs and price lists as CSV files."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from io import TextIOWrapper
from pathlib import Path

import click
import orjson

from schemas.labour import dump_labour_standard
from schemas.materials.catalogue import KIND_OF
from schemas.prices.csv import (
    BREAKS,
    COSTS,
    ITEM_FILES,
    LISTS,
    RULES,
    break_rows,
    cost_cells,
    item_cells,
    list_cells,
    rule_rows,
    table_of,
)
from schemas.shop import dump_shop
from service.cli.private_files import private_file, private_folder
from service.cli.start import need_migrated, plainly, wired
from service.persistence.unit_of_work import UnitOfWork

SHOP_FILE, STANDARDS_FILE = "shop.json", "labour_standards.json"
FOLDER = click.Path(file_okay=False, path_type=Path)


@click.command("export")
@click.argument("folder", type=FOLDER)
@click.option("--shop", "code", required=True, help="The shop's code.")
@click.option("--without-costs", is_flag=True, help="Leave the costs out.")
def export_files(folder: Path, code: str, without_costs: bool) -> None:
    """Write the shop's data into FOLDER, as files that `import` reads back to the same thing.

    Cells that a program which shows sheets would take for formulas have an apostrophe before them;
    `import` takes it off again.
    """
    with plainly(), wired() as wiring:
        need_migrated(wiring)
        with wiring.units.reading() as uow:
            shop_id = uow.shops.by_code(code).id
            private_folder(folder)
            _settings(uow, shop_id, folder)
            _catalogue(uow, shop_id, folder, costs=not without_costs)
            _prices(uow, shop_id, folder)
    click.echo(f"The shop {code} is written to {folder}")


def _settings(uow: UnitOfWork, shop_id: str, folder: Path) -> None:
    shop = uow.shops.by_id(shop_id).shop
    records = uow.labour_standards.records(shop_id)
    standards = {
        "in_use": next((r.standard.code for r in records if r.in_use), ""),
        "standards": [dump_labour_standard(record.standard) for record in records],
    }
    for name, document in ((SHOP_FILE, dump_shop(shop)), (STANDARDS_FILE, standards)):
        text = orjson.dumps(document, option=orjson.OPT_INDENT_2)
        with private_file(folder / name) as file:
            file.write(text + b"\n")


def _catalogue(uow: UnitOfWork, shop_id: str, folder: Path, *, costs: bool) -> None:
    catalogue = uow.catalogue.load(shop_id, 0)
    for name, kind in ITEM_FILES.items():
        mine = (item for item in catalogue.items.values() if KIND_OF[type(item)] == kind)
        _write(folder, name, (item_cells(name, item) for item in mine))
    if costs:
        every = (cost for code in sorted(catalogue.costs) for cost in catalogue.costs[code])
        _write(folder, COSTS, (cost_cells(cost) for cost in every))


def _prices(uow: UnitOfWork, shop_id: str, folder: Path) -> None:
    records = uow.price_lists.all(shop_id)
    lists = [record.price_list for record in records]
    _write(folder, LISTS, (list_cells(r.price_list, r.state) for r in records))
    _write(folder, BREAKS, (row for each in lists for row in break_rows(each)))
    _write(folder, RULES, (row for each in lists for row in rule_rows(each)))


def _write(folder: Path, name: str, rows: Iterable[list[str]]) -> None:
    path = folder / f"{name}.csv"
    with private_file(path) as raw, TextIOWrapper(raw, "utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(table_of(name))
        writer.writerows(rows)
