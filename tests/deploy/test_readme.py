"""Every example in the README is run as it stands."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.deploy.live import command, live_service, new_key

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
RUN_ELSEWHERE = {
    "sh deploy/demo.sh": "tests/deploy/test_demo.py",
    "sh deploy/test.sh": "what runs this very test",
}


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    url = f"sqlite:///{tmp_path_factory.mktemp('readme') / 'readme.sqlite3'}"
    with live_service(url) as address:
        yield address, url


def blocks(kind: str) -> list[str]:
    return [text for name, text in BLOCKS if name == kind]


def test_the_job_stands_in_the_first_paragraph() -> None:
    first = README.split("\n\n")[1]
    assert "custom framer" in first
    assert "cut size" in first
    assert "REST service" in first


def test_only_kinds_of_examples_that_are_run() -> None:
    assert {name for name, _ in BLOCKS} <= {"sh", "console", "python"}


def test_python_examples(base: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    address, url = base
    names: dict[str, object] = {
        "BASE": address,
        "KEY": new_key(url, "counter", "reports"),
        "FORM_KEY": new_key(url, "price"),
    }
    try:
        for block in blocks("python"):
            exec(compile(block, "README.md", "exec"), names)  # noqa: S102 — our own README
    finally:
        names["session"].close()  # type: ignore[attr-defined]
    assert capsys.readouterr().out.endswith(" USD\n")


@pytest.mark.parametrize("block", blocks("console"))
def test_console_examples(block: str) -> None:
    prompt, _, expected = block.partition("\n")
    words = shlex.split(prompt.removeprefix("$ "))
    assert words[0] == "framing-quotes"
    done = subprocess.run(
        [sys.executable, "-m", "service", *words[1:]],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=True,
    )
    pattern = re.escape(expected.rstrip("\n")).replace(r"\.\.\.", "(?s:.*)")
    assert re.fullmatch(pattern, done.stdout.rstrip("\n")), done.stdout


def test_shell_examples(base: tuple[str, str]) -> None:
    _, url = base
    for line in "".join(blocks("sh")).splitlines():
        if line in RUN_ELSEWHERE:
            continue
        words = shlex.split(line)
        assert words[0] == "framing-quotes", f"{line} is run by no test"
        assert command(*words[1:], DATABASE_URL=url)


def test_every_command_is_in_the_table() -> None:
    listed = set(re.findall(r"^\| `framing-quotes ([a-z-]+)", README, re.MULTILINE))
    known = re.findall(r"^  ([a-z-]+)  ", command("--help"), re.MULTILINE)
    assert listed == set(known)
