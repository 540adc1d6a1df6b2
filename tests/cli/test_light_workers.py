"""What a worker over SQLite loads and keeps; `tests.bench.memory` measures it."""

from __future__ import annotations

import gc
import subprocess
import sys
from collections.abc import Iterator

import pytest

from service.cli.serve.allocator import tight_allocator
from service.cli.serve.collector import NEW_OBJECTS, quiet_collector

LOADED = """
import sys
from service.api import create_app
from service.settings import Settings
from service.wiring import wire

create_app(wire(Settings.read({"DATABASE_URL": "sqlite:////nowhere/none.sqlite3"})))
print(*sorted({"psycopg", "alembic", "mako"} & sys.modules.keys()))
"""


def test_a_worker_over_sqlite_loads_neither_postgresql_nor_migrations() -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOADED], capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == []


@pytest.fixture
def collector() -> Iterator[None]:
    thresholds, callbacks = gc.get_threshold(), list(gc.callbacks)
    yield
    gc.unfreeze()
    gc.set_threshold(*thresholds)
    gc.callbacks[:] = callbacks


@pytest.mark.usefixtures("collector")
def test_cycles_are_collected_before_hundreds_of_answers_have_left_theirs() -> None:
    quiet_collector()
    before = gc.get_stats()[0]["collections"]
    for _ in range(2 * NEW_OBJECTS):
        knot: list[object] = []
        knot.append(knot)
    assert gc.get_stats()[0]["collections"] > before


@pytest.mark.usefixtures("collector")
def test_a_full_collection_returns_unused_pages() -> None:
    before = len(gc.callbacks)
    if not tight_allocator():
        pytest.skip("another C library than glibc")
    assert len(gc.callbacks) == before + 1
    gc.collect()
