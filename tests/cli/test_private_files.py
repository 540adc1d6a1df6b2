"""Files that hold costs, keys or customers are made for their owner alone (0600, 0700)."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import text

from service.cli.main import main
from service.cli.private_files import private_file, private_folder
from service.cli.serve.worker_slots import OWNER, PREFIX, clear_left_behind, counting
from service.persistence.sql.engine import database_url, open_engine
from service.persistence.sql.level import migrate


@pytest.fixture(autouse=True)
def usual_umask() -> Iterator[None]:
    """What most systems set: group and others may read what is made."""
    before = os.umask(0o022)
    yield
    os.umask(before)


def rights(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_a_new_sqlite_file_and_what_stands_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "new.sqlite3"
    migrate(database_url(f"sqlite:///{path}"))
    engine = open_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE odd (id INTEGER)"))
        found = {each.name: rights(each) for each in tmp_path.glob("new.sqlite3*")}
    engine.dispose()
    assert {"new.sqlite3", "new.sqlite3-wal", "new.sqlite3-shm"} <= set(found)
    assert set(found.values()) == {0o600}


def test_a_sqlite_file_that_is_there_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite3"
    path.touch(0o640)
    path.chmod(0o640)
    open_engine(f"sqlite:///{path}").connect().close()
    assert rights(path) == 0o640


def test_an_export(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DATABASE_URL", f"sqlite:///{tmp_path}/shop.sqlite3")
    folder = tmp_path / "out" / "shop"
    for command in (["migrate"], ["load-demo"]):
        assert CliRunner().invoke(main, command).exit_code == 0
    for _ in range(2):
        done = CliRunner().invoke(main, ["export", "--shop", "lanternquay", str(folder)])
        assert done.exit_code == 0, done.output
        assert {rights(each) for each in folder.iterdir()} == {0o600}
        assert rights(folder) == 0o700
        (folder / "costs.csv").chmod(0o644)  # as an earlier release left it
    assert (folder / "costs.csv").exists()


def test_a_folder_that_is_there_keeps_its_rights(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir(mode=0o755)
    private_folder(tmp_path / "there")
    assert rights(tmp_path / "there") == 0o755
    with private_file(tmp_path / "there" / "plan.pdf") as file:
        file.write(b"x")
    assert rights(tmp_path / "there" / "plan.pdf") == 0o600


RUN_IN = """
import os, pathlib, sys
from service.cli.serve import worker_slots
worker_slots.Path = lambda place, of=pathlib.Path: of(sys.argv[1] if place == "/dev/shm" else place)
with worker_slots.counting():
    print(os.environ["PROMETHEUS_MULTIPROC_DIR"], flush=True)
    sys.stdin.read()
"""


def test_figures_of_a_killed_server_go_at_the_next_start(
    tmp_path: Path,
) -> None:
    servers = []
    for _ in range(2):
        server = subprocess.Popen(
            [sys.executable, "-c", RUN_IN, str(tmp_path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert server.stdout is not None
        servers.append((server, Path(server.stdout.readline().strip())))
    (killed, left), (living, kept) = servers
    killed.kill()
    killed.communicate()
    being_made = tmp_path / f"{PREFIX}new"
    being_made.mkdir()
    assert left.is_dir()
    clear_left_behind(tmp_path)
    assert not left.exists()
    assert (kept / OWNER).exists()
    assert being_made.is_dir()
    living.communicate("")
    assert living.returncode == 0
    assert not kept.exists()


def test_a_start_clears(tmp_path: Path) -> None:
    with counting():
        made = Path(os.environ["PROMETHEUS_MULTIPROC_DIR"])
        left = made.parent / f"{PREFIX}left-by-a-test-{os.getpid()}"
        left.mkdir()
        (left / OWNER).touch()
        with counting():
            assert not left.exists()
        assert made.is_dir()
