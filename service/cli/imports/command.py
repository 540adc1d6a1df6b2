"""`framing-quotes import`: catalogue, costs and price lists from CSV files."""

from __future__ import annotations

from pathlib import Path
from types import TracebackType
from typing import Self

import click

from schemas.prices.csv import ORDER
from service.app.audit import NOBODY
from service.app.keys.actor import Changing
from service.cli.export_files import SHOP_FILE, STANDARDS_FILE
from service.cli.imports.report import Report
from service.cli.imports.rows import Files, store
from service.cli.imports.shop import found_or_made, store_settings
from service.cli.start import need_migrated, plainly, wired
from service.persistence.unit_of_work import UnitOfWork
from service.wiring import Wiring

PLACE = click.Path(exists=True, path_type=Path)
STOPPED = 130
"""The exit status of a program interrupted by Ctrl-C."""


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

    Every faulty row is named by its line and column. Ctrl-C keeps nothing of it, or with
    --skip-faulty what was stored until then.
    """
    report = Report(lambda line: click.echo(line, err=True))
    with plainly(), wired() as wiring:
        need_migrated(wiring)
        paths = _paths(places)
        strict = not skip_faulty
        storing = Transactions(wiring, report, strict=strict, at_once=dry_run or strict)
        try:
            with storing:
                _import(storing, code, paths, report)
                if not dry_run:
                    storing.commit()
        except KeyboardInterrupt:
            _stopped(report, kept=not storing.at_once)
    for line in report.lines():
        click.echo(line)
    if report.faulty:
        click.echo(f"{report.faulty} rows are wrong and were left out")
    if dry_run:
        click.echo("nothing was stored: this was a dry run")
    if report.faulty:
        raise click.exceptions.Exit(2)


class Transactions:
    """The unit of work of an import: one for everything, or one per batch.

    Attributes:
        at_once: True if everything is one unit of work.
        strict: True if one faulty row rejects everything.
        shop_id: the shop that owns the book; set once it is known.
    """

    def __init__(self, wiring: Wiring, report: Report, *, strict: bool, at_once: bool) -> None:
        self.wiring, self.report = wiring, report
        self.strict, self.at_once, self.shop_id = strict, at_once, ""
        self._open: UnitOfWork | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        open_now, self._open = self._open, None
        if open_now is not None:
            open_now.__exit__(kind, error, trace)

    def uow(self) -> UnitOfWork:
        """Return the open unit of work."""
        if self._open is None:
            self._open = self.wiring.units.writing().__enter__()
        return self._open

    def change(self) -> Changing | None:
        """Return the change that a batch belongs to; None once a faulty row rejects everything."""
        if self.strict and self.report.faulty:
            self.__exit__(None, None, None)  # nobody need wait for what will be rolled back
            return None
        fresh = self._open is None
        changing = Changing(self.uow(), self.shop_id, NOBODY, self.wiring.clock())
        if fresh:
            changing.take_turn()
        return changing

    def stored(self) -> None:
        """Commit a batch, unless everything is one unit."""
        if not self.at_once:
            self.commit()

    def commit(self) -> None:
        """Commit what was done."""
        if self._open is not None:
            self._open.commit()
            self.__exit__(None, None, None)


def _import(storing: Transactions, code: str, paths: dict[str, Path], report: Report) -> None:
    """Import everything, up to the last commit.

    Raises:
        ClickException: rows are faulty, and one such row rejects everything.
    """
    uow = storing.uow()
    storing.shop_id = found_or_made(uow, code, paths, storing.wiring.new_id())
    change = storing.change()
    if change is not None:
        store_settings(change, paths)
    files = Files(
        {name: paths[name] for name in ORDER if name in paths},
        uow.shops.by_id(storing.shop_id).shop.ruler.unit,
    )
    storing.stored()
    report.size = files.size()
    store(files, report, storing)
    if report.faulty and storing.strict:
        raise click.ClickException(f"{report.faulty} rows are wrong; nothing was stored")


def _stopped(report: Report, *, kept: bool) -> None:
    for line in report.lines() if kept else ():
        click.echo(line)
    click.echo("stopped; what is told above was stored" if kept else "stopped; nothing was stored")
    raise click.exceptions.Exit(STOPPED)


def _paths(places: tuple[Path, ...]) -> dict[str, Path]:
    """Return the files by name.

    Raises:
        ClickException: an unknown file, or one that is named twice.
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
    if not found:
        raise click.ClickException(f"there is no file to import; there may be {', '.join(known)}")
    return found
