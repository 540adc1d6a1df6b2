"""`framing-quotes estimate`: the demo jobs in the terminal, and what is said of bad ones."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from service.cli.main import main
from service.demo import demo_jobs
from service.printing.quotes.text import WIDTH

JOBS = Path(__file__).parents[2] / "service" / "demo" / "jobs"


def run(*arguments: str, text: str | None = None) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["estimate", *arguments], input=text)
    return result.exit_code, result.output


@pytest.mark.parametrize("name", sorted(demo_jobs()))
def test_every_demo_job_prints_its_total_and_its_pieces(name: str) -> None:
    code, said = run(str(JOBS / f"{name}.json"))
    assert code == 0, said
    assert "TOTAL USD" in said
    assert "CUT LIST" in said
    assert max(map(len, said.splitlines())) <= WIDTH + 22


def test_worked_job_prints_its_sizes() -> None:
    # Worked by hand: package 22 5/8 x 26 3/4, outside 24 3/4 x 28 7/8.
    _, said = run(str(JOBS / "harbour_etching.json"))
    assert "package      22 5/8 x 26 3/4 in" in said
    assert "outside      24 3/4 x 28 7/8 in" in said
    assert "16 1/8 x 19 3/4" in said


def test_json_is_the_whole_answer() -> None:
    _, said = run("--json", str(JOBS / "harbour_etching.json"))
    assert json.loads(said)["jobs"][0]["sizes"]["united_inches"] == "49.375"


def test_all_faults_of_a_bad_document_are_named() -> None:
    code, said = run("-", text='{"jobs": [{"artwork": {"width": "-3"}, "colour": 1}]}')
    assert code == 1
    for part in ("/jobs/0/artwork/width", "/jobs/0/artwork/height", "/jobs/0/colour", "negative"):
        assert part in said
    assert "Traceback" not in said


def test_what_is_not_json_is_said_plainly() -> None:
    code, said = run("-", text="{,}")
    assert code == 1
    assert "not JSON" in said


def test_a_file_of_documents_gets_an_answer_a_line(tmp_path: Path) -> None:
    one = json.dumps(json.loads((JOBS / "harbour_etching.json").read_text()))
    file = tmp_path / "night.ndjson"
    file.write_text(f"{one}\n{{,}}\n\n{one}\n")
    result = CliRunner().invoke(main, ["estimate", "--bulk", str(file)])
    assert result.exit_code == 1
    assert "1 of 3 lines make no sense" in result.stderr
    lines = [json.loads(line) for line in result.stdout.splitlines()]
    assert [line["line"] for line in lines] == [1, 2, 4]
    _, alone = run("--json", str(JOBS / "harbour_etching.json"))
    assert lines[0]["totals"] == lines[2]["totals"] == json.loads(alone)["totals"]
    assert lines[1]["status"] == 400


def test_lines_may_come_by_standard_input(tmp_path: Path) -> None:
    code, said = run("--bulk", "-", text='{"jobs": []}\n')
    assert code == 1
    assert json.loads(said.splitlines()[0])["status"] == 422


def test_a_bar_is_shown_on_a_terminal_and_nowhere_else(tmp_path: Path) -> None:
    file = tmp_path / "night.ndjson"
    one = json.dumps(json.loads((JOBS / "harbour_etching.json").read_text()))
    file.write_text(f"{one}\n" * 30)
    words = [sys.executable, "-m", "service", "estimate", "--bulk", str(file)]
    ours, theirs = pty.openpty()
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=theirs) as process:
        os.close(theirs)
        told, _ = process.communicate(timeout=120)
        shown = os.read(ours, 65_536).decode()
    os.close(ours)
    assert "100%" in shown
    assert len(told.splitlines()) == 30
    quiet = subprocess.run(words, capture_output=True, check=True, timeout=120)
    assert quiet.stderr == b""
    assert quiet.stdout == told


def test_several_processes_answer_as_one_does(tmp_path: Path) -> None:
    document = json.loads((JOBS / "harbour_etching.json").read_text())
    lines = []
    for step in range(170):
        document["reference"] = f"N-{step}"
        document["jobs"][0]["artwork"]["width"] = f"{8 + step % 20}"
        lines.append("{,}" if step % 33 == 5 else json.dumps(document))
    file = tmp_path / "night.ndjson"
    file.write_text("\n".join(lines))
    told = []
    for processes in ("1", "3"):
        words = [sys.executable, "-m", "service", "estimate", "--bulk", str(file)]
        done = subprocess.run(
            [*words, "--processes", processes], capture_output=True, check=False, timeout=120
        )
        assert done.returncode == 1
        assert b"5 of 170 lines make no sense" in done.stderr
        told.append(done.stdout)
    assert told[0] == told[1]
    assert [json.loads(line)["line"] for line in told[0].splitlines()] == list(range(1, 171))
