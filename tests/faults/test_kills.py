"""A few of the kills of `sqlite_kills`, so that the script itself is sound."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.faults.told import faults_of


def test_nothing_acknowledged_is_lost_when_writers_are_killed() -> None:
    done = subprocess.run(  # a process of its own: it forks, and others here have threads
        [sys.executable, "-m", "tests.faults.sqlite_kills", "6", "3"],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "WRONG" not in done.stdout


@pytest.mark.parametrize("name", ["acknowledged and lost", "numbers given twice"])
def test_the_table_would_tell(name: str) -> None:
    assert faults_of({"quotes stored": 3, "acknowledged": 3, name: 1}) == [f"{name}: 1"]
