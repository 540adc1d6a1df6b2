"""Writing a shop's files and reading them back through the commands, for the tests of both."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from sqlalchemy import func, select

from service.app.prices.book import load_book
from service.cli.main import main
from service.demo import demo_shop
from service.domain.prices.book import ShopBook
from service.persistence.events.tables import events
from service.persistence.sql.engine import open_engine
from service.persistence.unit_of_work import UnitsOfWork

CODE = demo_shop().code


def with_demo(url: str, monkeypatch: pytest.MonkeyPatch) -> CliRunner:
    monkeypatch.setenv("DATABASE_URL", url)
    runner = CliRunner()
    done = runner.invoke(main, ["load-demo"])
    assert done.exit_code == 0, done.output
    return runner


def book(url: str, code: str = CODE) -> ShopBook:
    engine = open_engine(url)
    try:
        with UnitsOfWork(engine).reading() as uow:
            return load_book(uow, uow.shops.by_code(code).id)
    finally:
        engine.dispose()


def noted(url: str) -> int:
    engine = open_engine(url)
    with engine.connect() as connection:
        count: int = connection.execute(select(func.count()).select_from(events)).scalar_one()
    engine.dispose()
    return count


def export(run: CliRunner, folder: Path) -> Path:
    done = run.invoke(main, ["export", "--shop", CODE, str(folder)])
    assert done.exit_code == 0, done.output
    return folder


def bring(run: CliRunner, *arguments: str) -> Result:
    return run.invoke(main, ["import", "--shop", CODE, *arguments])


def change(path: Path, line: int, column: str, text: str) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    rows[line - 1][rows[0].index(column)] = text
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def read_rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
