"""CSV files out and in: the demo shop rebuilt from its own, faults by line, all or nothing."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine

from schemas.prices.csv import rows_of
from schemas.prices.lists import dump_price_list
from schemas.wire.csv import guarded, plain
from service.domain.errors import NotFound
from service.persistence.tables import metadata
from tests.cli.shop_files import book, bring, change, export, noted, read_rows, with_demo

FIRST = "MLD-ASH075"
"""The first moulding by its code, in line 2 of its file."""


def test_the_demo_shop_rebuilt_from_its_files_is_the_demo_shop(
    run: CliRunner, url: str, engine: Engine, tmp_path: Path
) -> None:
    folder = export(run, tmp_path / "files")
    was = book(url)
    with engine.begin() as connection:
        for table in reversed(metadata.sorted_tables):
            connection.execute(table.delete())
    tried = bring(run, "--dry-run", str(folder))
    assert (tried.exit_code, "dry run" in tried.output) == (0, True), tried.output
    with pytest.raises(NotFound):
        book(url)
    done = bring(run, str(folder))
    assert done.exit_code == 0, done.output
    now = book(url)
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


def test_what_is_the_same_is_left_alone(run: CliRunner, url: str, tmp_path: Path) -> None:
    folder = export(run, tmp_path / "files")
    before, notes = book(url), noted(url)
    done = bring(run, str(folder))
    assert "mouldings: 0 new, 0 changed" in done.output
    assert noted(url) == notes
    assert book(url).version == before.version
    change(folder / "mouldings.csv", 2, "colour", "dusk")
    done = bring(run, str(folder / "mouldings.csv"))
    assert "mouldings: 0 new, 1 changed" in done.output
    assert noted(url) == notes + 1


def test_every_faulty_row_is_named_by_line_and_column(
    run: CliRunner, url: str, tmp_path: Path
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
    assert book(url).catalogue.items[FIRST].colour != "dusk"  # type: ignore[union-attr]


def test_faulty_rows_can_be_skipped(run: CliRunner, url: str, tmp_path: Path) -> None:
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
    assert book(url).catalogue.items[FIRST].colour == "dusk"  # type: ignore[union-attr]


def test_all_or_nothing_holds_for_what_only_storage_knows(
    run: CliRunner, url: str, tmp_path: Path
) -> None:
    folder = export(run, tmp_path / "files")
    change(folder / "mouldings.csv", 2, "colour", "dusk")
    change(folder / "costs.csv", 2, "item", "NONE")
    done = bring(run, str(folder / "mouldings.csv"), str(folder / "costs.csv"))
    assert done.exit_code == 1
    assert "costs.csv, line 2, column item: there is no item NONE" in done.output
    assert book(url).catalogue.items[FIRST].colour != "dusk"  # type: ignore[union-attr]


def test_a_dry_run_tells_all_and_keeps_nothing(run: CliRunner, url: str, tmp_path: Path) -> None:
    folder = export(run, tmp_path / "files")
    change(folder / "mouldings.csv", 2, "colour", "dusk")
    before = book(url)
    done = bring(run, "--dry-run", str(folder / "mouldings.csv"))
    assert done.exit_code == 0
    assert "1 changed" in done.output
    assert "nothing was stored" in done.output
    assert book(url).version == before.version


def test_settings_stand_or_fall_with_the_rows_and_are_noted(
    run: CliRunner, url: str, tmp_path: Path
) -> None:
    folder = export(run, tmp_path / "files")
    settings = json.loads((folder / "shop.json").read_text(encoding="utf-8"))
    settings["quote_valid_days"] = 45
    (folder / "shop.json").write_text(json.dumps(settings), encoding="utf-8")
    change(folder / "mouldings.csv", 3, "face_width", "wide")
    assert bring(run, str(folder)).exit_code == 1
    assert book(url).shop.quote_valid_days == 30
    change(folder / "mouldings.csv", 3, "face_width", "3 in")
    before = noted(url)
    assert bring(run, str(folder)).exit_code == 0
    assert book(url).shop.quote_valid_days == 45
    assert noted(url) == before + 2  # the shop and a moulding


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("shop.json", "{", "shop.json is not a file that `export` wrote"),
        ("shop.json", "{}", "shop.json makes no sense"),
        ("labour_standards.json", "[]", "labour_standards.json is not a file"),
    ],
)
def test_settings_that_make_no_sense_are_told(
    sqlite_url: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, name: str, text: str,
    told: str,
) -> None:  # fmt: skip
    run = with_demo(sqlite_url, monkeypatch)
    (tmp_path / name).write_text(text, encoding="utf-8")
    done = bring(run, str(tmp_path / name))
    assert (done.exit_code, told in done.output) == (1, True), done.output


def test_after_a_faulty_row_the_rest_is_still_looked_at(
    run: CliRunner, url: str, tmp_path: Path
) -> None:
    folder = export(run, tmp_path / "files")
    change(folder / "mouldings.csv", 2, "face_width", "wide")
    change(folder / "costs.csv", 5, "cost", "dear")
    change(folder / "rules.csv", 3, "rate", "-1")
    done = bring(run, str(folder))
    for told in ("mouldings.csv, line 2", "costs.csv, line 5, column cost", "rules.csv, line 3"):
        assert told in done.output
    # What refers to the faulty moulding is not called wrong for it.
    assert "there is no item" not in done.output
    assert "3 rows are wrong; nothing was stored" in done.output


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
    sqlite_url: str,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    name: str,
    text: str | bytes,
    told: str,
) -> None:
    run = with_demo(sqlite_url, monkeypatch)
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    done = bring(run, str(path))
    assert done.exit_code == 1
    assert told in done.output


def test_cells_that_sheets_take_for_formulas_are_guarded(
    run: CliRunner, url: str, tmp_path: Path
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
    assert book(url).catalogue.items["SUP-Y"].description == "+1"


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
