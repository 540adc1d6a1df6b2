"""`framing-quotes plan`: from a file and from tickets, to a terminal, a file, and the rack."""

from __future__ import annotations

import json
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from service.cli.main import main
from tests.api.cutting.plans import check_plan
from tests.api.test_tickets import accepted
from tests.api.world import World, job, make_world

PIECES = """key,item,quantity,width,height,length,name
A,BRD-1204,2,16,20,,Harbour etching
B,BRD-1204,1,70,110,,Mural
C,MLD-OAK125,4,,,24 3/4,
"""


@pytest.fixture
def pieces(tmp_path: Path) -> Path:
    path = tmp_path / "pieces.csv"
    path.write_text(PIECES, encoding="utf-8")
    return path


@pytest.fixture
def world(sqlite_url: str) -> World:
    return make_world(sqlite_url)


def run(*arguments: str | Path, world: World | None = None) -> Result:
    asked = ["plan", *map(str, arguments)]
    if world is None:
        return CliRunner().invoke(main, asked)
    url = world.wiring.settings.database_url
    return CliRunner().invoke(main, [*asked, "--shop", "lanternquay"], env={"DATABASE_URL": url})


def planned(*arguments: str | Path, world: World | None = None) -> dict[str, Any]:
    answer = run(*arguments, "--form", "json", world=world)
    assert answer.exit_code == 0, answer.output
    document: dict[str, Any] = json.loads(answer.stdout)
    check_plan(document)
    return document


def test_a_list_of_pieces_is_planned_in_plain_lines_without_a_database(pieces: Path) -> None:
    answer = run(pieces)
    assert answer.exit_code == 0, answer.output
    assert "6 of 7" in answer.output
    assert "Sheet 1 of BRD-1204, 32 x 40" in answer.output
    assert "piece A #2, " in answer.output
    assert "1 of B (Mural), BRD-1204 70 x 110" in answer.output
    assert max(map(len, answer.output.splitlines())) <= 100


def test_json_html_and_pdf_go_into_files(pieces: Path, tmp_path: Path) -> None:
    for name in ("plan.json", "plan.html", "plan.pdf"):
        answer = run(pieces, "--out", tmp_path / name)
        assert answer.exit_code == 0, answer.output
        assert answer.stdout == ""
        assert "6 of 7 pieces from 2 new sheets and sticks" in answer.stderr
    check_plan(json.loads((tmp_path / "plan.json").read_text(encoding="utf-8")))
    assert (tmp_path / "plan.html").read_text(encoding="utf-8").count("<figure>") == 2
    paper = PdfReader(BytesIO((tmp_path / "plan.pdf").read_bytes()))
    assert "MLD-OAK125" in " ".join(page.extract_text() for page in paper.pages)


def test_a_json_file_is_the_document_that_the_service_takes(tmp_path: Path) -> None:
    path = tmp_path / "asked.json"
    stock = [{"item": "SLATE", "width": "20 in", "height": "20 in", "cost": "7.5"}]
    asked = [{"item": "SLATE", "width": "9.5", "height": "9.5", "quantity": 5}]
    path.write_text(json.dumps({"pieces": asked, "stock": stock}), encoding="utf-8")
    document = planned(path)
    assert document["costs"]["total"] == "15.00"
    assert document["items"][0]["proved_best"]


def test_dry_by_default_stored_and_committed_when_asked(world: World, pieces: Path) -> None:
    accepted(world, job())
    assert planned("--open", world=world)["tickets"] == ["T100014"]
    assert world.ask("GET", "/v1/cutting-plans").get_json()["items"] == []
    stored = planned("--open", "--store", world=world)
    assert (stored["number"], stored["status"]) == ("P100014", "planned")
    done = planned("--ticket", "T100014", "--commit", world=world)
    assert done["status"] == "committed"
    labels = {keep["label"] for item in done["items"] for keep in item["keep"]}
    rack = world.ask("GET", "/v1/offcuts").get_json()["items"]
    assert {offcut["label"] for offcut in rack} == labels
    assert None not in labels
    assert planned("--open", world=world)["pieces"] == [], "what is planned is not planned again"
    shown = world.ask("GET", f"/v1/cutting-plans/{done['number']}").get_json()
    assert shown == done


def test_what_makes_no_sense_is_said_in_sentences(world: World, tmp_path: Path) -> None:
    bad = tmp_path / "bad.csv"
    for text, words in (
        ("item,colour\nX,red\n", "colour: no such column"),
        ("item,width\nBRD-1204,3,4\n", "another number of cells"),
        ("item,width,height\nBRD-1204,0,3\n", "/pieces/0/width"),
        ("item,quantity,width,height\nBRD-1204,two,1,3\n", "/pieces/0/quantity"),
        ("item,width,height\nBRD-1204,\x00\xff,3\n", "/pieces/0/width"),
    ):
        bad.write_text(text, encoding="utf-8")
        answer = run(bad)
        assert (answer.exit_code, words in answer.output) == (1, True), answer.output
        assert "Traceback" not in answer.output
    bad.write_bytes(b"\xff\xfe")
    assert "no CSV table in UTF-8" in run(bad).output
    assert run().exit_code == 2
    assert "say which with --out" in run(bad, "--form", "pdf").output
    assert "was misread" in run("--ticket", "T100015", world=world).output


def test_progress_is_shown_on_a_terminal_alone(pieces: Path) -> None:
    # The standard library's pseudo-terminal stands in for a person's.
    script = (
        "import pty, sys;"
        f"sys.exit(pty.spawn([sys.executable, '-m', 'service', 'plan', {str(pieces)!r}]) >> 8)"
    )
    shown = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, timeout=120
    )
    assert b"Planning" in shown.stdout
    assert b"100%" in shown.stdout
    assert "Planning" not in run(pieces).output
