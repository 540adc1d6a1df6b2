"""CSV files out and in: the demo shop rebuilt from its own, faults by line, all or nothing."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import func, select

from schemas.csv_files import rows_of
from schemas.csv_rows import guarded, plain
from schemas.price_lists import dump_price_list
from service.app.book import ShopBook, load_book
from service.cli.main import main
from service.demo import demo_shop
from service.persistence.engine import open_engine
from service.persistence.tables_events import events
from service.persistence.unit_of_work import SqlUnits

CODE = demo_shop().code
FIRST = "MLD-ASH075"
"""The first moulding by its code, in line 2 of its file."""


@pytest.fixture
def run(sqlite_url: str, monkeypatch: pytest.MonkeyPatch) -> CliRunner:
    monkeypatch.setenv("DATABASE_URL", sqlite_url)
    runner = CliRunner()
    done = runner.invoke(main, ["load-demo"])
    assert done.exit_code == 0, done.output
    return runner


def book(url: str, code: str = CODE) -> ShopBook:
    engine = open_engine(url)
    with SqlUnits(engine).reading() as uow:
        found = load_book(uow, uow.shops.by_code(code).id)
    engine.dispose()
    return found


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


def test_the_demo_shop_rebuilt_from_its_files_is_the_demo_shop(
    run: CliRunner,
    sqlite_url: str,
    migrated_sqlite: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = export(run, tmp_path / "files")
    copy = tmp_path / "other.sqlite3"
    copy.write_bytes(migrated_sqlite.read_bytes())
    other = f"sqlite:///{copy}"
    monkeypatch.setenv("DATABASE_URL", other)
    done = bring(run, str(folder))
    assert done.exit_code == 0, done.output
    was, now = book(sqlite_url), book(other)
    assert now.shop == was.shop
    assert now.catalogue.items == was.catalogue.items
    assert now.catalogue.costs == was.catalogue.costs
    assert now.labour_in_use == was.labour_in_use
    assert [dump_price_list(p) for p in now.price_lists] == [
        dump_price_list(p) for p in was.price_lists
    ]
    again = export(run, tmp_path / "again")
    for path in sorted(folder.iterdir()):
        assert (again / path.name).read_bytes() == path.read_bytes(), path.name


def test_what_is_the_same_is_left_alone(run: CliRunner, sqlite_url: str, tmp_path: Path) -> None:
    folder = export(run, tmp_path / "files")
    before, notes = book(sqlite_url), noted(sqlite_url)
    for name in ("shop.json", "labour_standards.json"):
        (folder / name).unlink()
    done = bring(run, str(folder))
    assert "mouldings: 0 new, 0 changed" in done.output
    assert noted(sqlite_url) == notes
    assert book(sqlite_url).version == before.version
    change(folder / "mouldings.csv", 2, "colour", "dusk")
    done = bring(run, str(folder / "mouldings.csv"))
    assert "mouldings: 0 new, 1 changed" in done.output
    assert noted(sqlite_url) == notes + 1


def test_every_faulty_row_is_named_by_line_and_column(
    run: CliRunner, sqlite_url: str, tmp_path: Path
) -> None:
    folder = export(run, tmp_path / "files")
    change(folder / "mouldings.csv", 3, "face_width", "wide")
    change(folder / "mouldings.csv", 5, "code", FIRST)
    change(folder / "mouldings.csv", 6, "weight_kg_per_m", "-1")
    change(folder / "mouldings.csv", 6, "stick_lengths", "96 in; long")
    change(folder / "costs.csv", 4, "basis", "mile")
    change(folder / "rules.csv", 2, "component", "gold")
    change(folder / "mouldings.csv", 2, "colour", "dusk")
    done = bring(run, str(folder))
    assert done.exit_code == 1
    for told in (
        "mouldings.csv, line 3, column face_width: ",
        "mouldings.csv, line 5, column code: MLD-ASH075 stands in line 2 already",
        "mouldings.csv, line 6, column weight_kg_per_m: ",
        "mouldings.csv, line 6, column stick_lengths: ",
        "costs.csv, line 4, column basis: ",
        "rules.csv, line 2, column component: ",
        "nothing was stored",
    ):
        assert told in done.output, done.output
    assert book(sqlite_url).catalogue.items[FIRST].colour != "dusk"  # type: ignore[union-attr]


def test_faulty_rows_can_be_skipped(run: CliRunner, sqlite_url: str, tmp_path: Path) -> None:
    folder = export(run, tmp_path / "files")
    path = folder / "mouldings.csv"
    change(path, 2, "colour", "dusk")
    change(path, 3, "face_width", "wide")
    change(path, 4, "code", "BRD-1204")  # a board
    done = bring(run, "--skip-faulty", str(path))
    assert done.exit_code == 2
    assert "line 4, column code: BRD-1204 is another kind of item already" in done.output
    assert "1 changed" in done.output
    assert "2 rows are wrong and were left out" in done.output
    assert book(sqlite_url).catalogue.items[FIRST].colour == "dusk"  # type: ignore[union-attr]


def test_all_or_nothing_holds_for_what_only_storage_knows(
    run: CliRunner, sqlite_url: str, tmp_path: Path
) -> None:
    folder = export(run, tmp_path / "files")
    change(folder / "mouldings.csv", 2, "colour", "dusk")
    change(folder / "costs.csv", 2, "item", "NONE")
    done = bring(run, str(folder / "mouldings.csv"), str(folder / "costs.csv"))
    assert done.exit_code == 1
    assert "costs.csv, line 2, column item: there is no item NONE" in done.output
    assert book(sqlite_url).catalogue.items[FIRST].colour != "dusk"  # type: ignore[union-attr]


def test_a_dry_run_tells_all_and_keeps_nothing(
    run: CliRunner, sqlite_url: str, tmp_path: Path
) -> None:
    folder = export(run, tmp_path / "files")
    change(folder / "mouldings.csv", 2, "colour", "dusk")
    before = book(sqlite_url)
    done = bring(run, "--dry-run", str(folder / "mouldings.csv"))
    assert done.exit_code == 0
    assert "1 changed" in done.output
    assert "nothing was stored" in done.output
    assert book(sqlite_url).version == before.version


def test_a_published_list_is_not_changed_by_a_file(run: CliRunner, tmp_path: Path) -> None:
    folder = export(run, tmp_path / "files")
    lists = [str(folder / f"{name}.csv") for name in ("price_lists", "breaks", "rules")]
    change(folder / "rules.csv", 2, "minimum", "25")
    done = bring(run, *lists)
    assert done.exit_code == 1
    assert (
        "price_lists.csv, line 2, column code: price list 2026-autumn is published" in done.output
    )
    change(folder / "rules.csv", 2, "code", "mat")  # a code that another rule has
    done = bring(run, *lists)
    assert "rules.csv, line " in done.output


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("mouldings.csv", "code,shade\n", "column shade: shade is not a column here"),
        ("mouldings.csv", "code\n", "column description: the column description is missing"),
        ("mouldings.csv", "", "column code: the column code is missing"),
        ("supplies.csv", "code,description\nA,B,C\n", "line 2: this row has 3 cells"),
        ("supplies.csv", 'code,description\nA,"B\n', "line 2: this is not CSV"),
        ("supplies.csv", "code,description\n\xff\n".encode("latin-1"), "not UTF-8 text"),
        ("prices.csv", "code\n", "prices.csv is not a file known here"),
    ],
)
def test_a_file_that_is_not_one_is_refused(
    run: CliRunner, tmp_path: Path, name: str, text: str | bytes, told: str
) -> None:
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    done = bring(run, str(path))
    assert done.exit_code == 1
    assert told in done.output


def test_cells_that_sheets_take_for_formulas_are_guarded(
    run: CliRunner, sqlite_url: str, tmp_path: Path
) -> None:
    path = tmp_path / "supplies.csv"
    text = '"=HYPERLINK(""http://x"")"'
    path.write_text(f"code,description\nSUP-X,{text}\nSUP-Y,+1\n", encoding="utf-8")
    assert bring(run, str(path)).exit_code == 0
    folder = export(run, tmp_path / "files")
    rows = read_rows(folder / "supplies.csv")
    cells = {row["code"]: row["description"] for row in rows}
    assert cells["SUP-X"] == '\'=HYPERLINK("http://x")'
    assert cells["SUP-Y"] == "'+1"
    done = bring(run, str(folder / "supplies.csv"))
    assert "supplies: 0 new, 0 changed" in done.output
    assert book(sqlite_url).catalogue.items["SUP-Y"].description == "+1"


@given(st.text(min_size=1).filter(lambda text: text == text.strip()))
def test_a_guarded_cell_comes_back_as_it_was(text: str) -> None:
    assert plain(guarded(text)) == text
    assert guarded(text)[0] not in "=+-@\t\r\n"


def test_a_table_stands_in_one_cell(run: CliRunner, tmp_path: Path) -> None:
    folder = export(run, tmp_path / "files")
    rows = read_rows(folder / "rules.csv")
    frame = next(row for row in rows if row["code"] == "frame")
    assert frame["brackets"] == "2: 3.2; 5: 2.8; rest: 2.4"
    text = (folder / "rules.csv").read_text(encoding="utf-8")
    first = next(iter(rows_of("rules", io.StringIO(text, newline=""), "in")))
    assert first.value["price_list"] == "2026-autumn"
