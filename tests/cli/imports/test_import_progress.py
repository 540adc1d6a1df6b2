"""What an import tells while it goes on, and what Ctrl-C leaves behind."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from service.app.prices.importing import known_items
from tests.cli.shop_files import book, bring


def large(folder: Path, rows: int) -> str:
    """A file of many supplies."""
    path = folder / "supplies.csv"
    lines = (f"SUP-{n:05},Invented supply {n}\n" for n in range(rows))
    path.write_text("code,description\n" + "".join(lines), encoding="utf-8")
    return str(path)


def test_how_far_it_has_come_is_told(run: CliRunner, url: str, tmp_path: Path) -> None:
    done = bring(run, large(tmp_path, 5_000))
    shown = [line for line in done.output.splitlines() if "%" in line]
    assert [line.split(",")[0] for line in shown] == ["2", "5"]  # 2,500 and 5,000 rows
    assert shown[1].endswith("100 %, now in supplies.csv")
    assert "supplies: 5000 new" in done.output


@pytest.mark.parametrize(("more", "kept"), [((), 0), (("--skip-faulty",), 1_000)])
def test_who_stops_it_is_told_what_was_stored(
    run: CliRunner,
    url: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    more: tuple[str, ...],
    kept: int,
) -> None:
    batches = iter(range(2))

    def stopped(*given: Any) -> Any:
        if next(batches, None) is None:
            raise KeyboardInterrupt
        return known_items(*given)

    monkeypatch.setattr("service.cli.imports.rows.known_items", stopped)
    before = len(book(url).catalogue.items)
    done = bring(run, *more, large(tmp_path, 2_000))
    assert done.exit_code == 130
    assert ("stopped; nothing was stored" in done.output) == (not kept)
    assert len(book(url).catalogue.items) == before + kept
    monkeypatch.undo()
    monkeypatch.setenv("DATABASE_URL", url)
    assert f"{2_000 - kept} new" in bring(run, *more, large(tmp_path, 2_000)).output
