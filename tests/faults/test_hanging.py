"""A moment of `hanging_database`, so that the script itself is sound and what it shows stays so."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.postgres
def test_nobody_waits_long_for_a_database_that_hangs() -> None:
    done = subprocess.run(  # a process of its own: it stops a whole server
        [sys.executable, "-m", "tests.faults.hanging_database", "9", "10"],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
