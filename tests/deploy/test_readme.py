"""The README's blocks are run as they are printed and in their order, as a newcomer would.

The shell blocks go to one shell in a copy of what a clone holds; the Python blocks to one Python
that has the shell's variables. The first block starts the demo, which the others talk to.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.deploy.live import command, free_port

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
DEMO = "sh deploy/demo.sh\n"
TESTS = "sh deploy/test.sh\n"
CLONED = ("service", "schemas", "migrations", "deploy")
PATIENCE = 600


def test_the_job_stands_in_the_first_paragraph() -> None:
    first = README.split("\n\n")[1]
    assert "custom framer" in first
    assert "cut size" in first
    assert "REST service" in first


def test_it_is_short_and_has_only_blocks_that_are_run() -> None:
    assert len(README.splitlines()) <= 200
    assert {name for name, _ in BLOCKS} <= {"sh", "console", "python"}
    assert BLOCKS[0] == ("sh", DEMO)
    assert BLOCKS[-1] == ("sh", TESTS)  # what runs this very test


def test_every_command_is_in_the_table() -> None:
    listed = set(re.findall(r"^\| `framing-quotes ([a-z-]+)", README, re.MULTILINE))
    known = re.findall(r"^  ([a-z-]+)  ", command("--help"), re.MULTILINE)
    assert listed == set(known)


@dataclass
class Terminal:
    """A shell in the clone, and a Python that was started from it."""

    clone: Path
    environment: dict[str, str]
    names: dict[str, object] = field(default_factory=dict)

    def shell(self, block: str) -> str:
        """Run lines and keep the variables that they export; return what they print."""
        kept = self.clone / "var" / "exported"
        script = f"set -eu\n{block}\nenv -0 >{shlex.quote(str(kept))}"
        done = subprocess.run(
            ["sh", "-c", script],
            cwd=self.clone,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
            timeout=PATIENCE,
        )
        assert done.returncode == 0, f"{block}\n{done.stdout}{done.stderr}"
        pairs = kept.read_text(encoding="utf-8").split("\0")
        self.environment = dict(pair.split("=", 1) for pair in pairs if pair)
        return done.stdout

    def console(self, block: str) -> None:
        """Run the line behind the prompt and hold what it prints to what is printed below it."""
        prompt, _, expected = block.partition("\n")
        printed = self.shell(prompt.removeprefix("$ "))
        pattern = re.escape(expected.rstrip("\n")).replace(r"\.\.\.", "(?s:.*)")
        assert re.fullmatch(pattern, printed.rstrip("\n")), printed

    def python(self, block: str, monkeypatch: pytest.MonkeyPatch) -> None:
        with monkeypatch.context() as patch:
            for name, value in self.environment.items():
                patch.setenv(name, value)
            exec(compile(block, "README.md", "exec"), self.names)  # noqa: S102 — our own README


@contextmanager
def demo(clone: Path, environment: dict[str, str]) -> Iterator[list[str]]:
    """The README's first block, going on in a terminal of its own; gives what it has printed."""
    with subprocess.Popen(
        ["sh", "-c", f"exec {DEMO}"],
        cwd=clone,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        assert process.stdout is not None
        lines: list[str] = []
        ready = threading.Event()

        def listen() -> None:
            for line in process.stdout or ():
                lines.append(line)
                if "The service is running" in line:
                    ready.set()
            ready.set()

        listener = threading.Thread(target=listen)
        listener.start()
        try:
            assert ready.wait(PATIENCE), "".join(lines)
            assert process.poll() is None, "".join(lines)
            yield lines
        finally:
            process.terminate()
            process.wait(60)
            listener.join()


@pytest.mark.parametrize(
    "installed",
    [pytest.param(True, id="installed"), pytest.param(False, marks=pytest.mark.slow, id="fresh")],
)
def test_every_block_runs_as_printed_and_in_order(
    installed: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    clone = _clone(tmp_path / "clone")
    environment = {name: os.environ[name] for name in os.environ if _is_anybodys(name)}
    environment |= {"HOME": str(tmp_path), "PORT": str(free_port())}
    if installed:  # else the demo installs for itself, which takes a minute
        (clone / ".venv").symlink_to(sys.prefix)
        environment["VENV"] = ".venv"
    with demo(clone, environment) as printed:
        terminal = Terminal(clone, environment)
        try:
            for kind, block in BLOCKS[1:-1]:
                if kind == "python":
                    terminal.python(block, monkeypatch)
                elif kind == "console":
                    terminal.console(block)
                else:
                    terminal.shell(block)
        finally:
            if "session" in terminal.names:
                terminal.names["session"].close()  # type: ignore[attr-defined]
    assert "TOTAL USD" in "".join(printed)
    assert capsys.readouterr().out.endswith(" USD\n")
    made = {path.name for path in clone.iterdir()} - {*CLONED, "README.md", "pyproject.toml"}
    assert made - {".venv"} == {"framing-quotes.sqlite3", "framing-quotes.sqlite3-turn", "var"}


def _clone(place: Path) -> Path:
    """What a clone holds, without what is made in it."""
    place.mkdir()
    for name in CLONED:
        shutil.copytree(TOP / name, place / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("README.md", "pyproject.toml"):
        shutil.copy(TOP / name, place)
    return place


def _is_anybodys(name: str) -> bool:
    """Return True for variables of a newcomer's terminal: none of the service's or of pytest's."""
    return name in ("PATH", "LANG", "TZ", "SSL_CERT_FILE") or name.startswith("PIP_")
