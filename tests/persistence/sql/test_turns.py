"""Turns at writing to SQLite: one at a time, over threads and processes, and free after a death."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from threading import Thread

import pytest

from service.persistence.sql.turns import NoTurn, Turns

_HOLDER = """
import sys, time
from service.persistence.sql.turns import Turns
Turns(sys.argv[1], 5).take()
print("mine", flush=True)
time.sleep(60)
"""


def test_one_thread_writes_at_a_time(tmp_path: Path) -> None:
    turns, inside, most = Turns(str(tmp_path / "db"), 20), [0], [0]

    def write() -> None:
        for _ in range(50):
            turns.take()
            inside[0] += 1
            most[0] = max(most[0], inside[0])
            inside[0] -= 1
            turns.give_back()

    threads = [Thread(target=write) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert most[0] == 1


def test_a_turn_held_elsewhere_is_waited_for_and_no_longer_than_said(tmp_path: Path) -> None:
    path = str(tmp_path / "db")
    mine, other = Turns(path, 5), Turns(path, 0.02)
    mine.take()
    for _ in range(2):
        with pytest.raises(NoTurn):
            other.take()
    mine.give_back()
    other.take()
    other.give_back()


def test_a_process_that_dies_gives_its_turn_back(tmp_path: Path) -> None:
    path = str(tmp_path / "db")
    with subprocess.Popen(
        [sys.executable, "-c", _HOLDER, path], stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "mine\n"
        with pytest.raises(NoTurn):
            Turns(path, 0.02).take()
        holder.kill()
        holder.wait(10)
    turns = Turns(path, 5)
    turns.take()
    turns.give_back()


def test_a_place_that_cannot_be_written_to_holds_nobody_up(tmp_path: Path) -> None:
    turns = Turns(str(tmp_path / "none" / "db"), 0.02)
    for _ in range(2):
        with pytest.raises(FileNotFoundError):
            turns.take()
