"""Allowances: a minute's worth at once, then as fast as it is earned; alike in both stores."""

from __future__ import annotations

import fcntl
import os
import signal
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from multiprocessing import get_context
from pathlib import Path

import pytest
from sqlalchemy import Engine

from service.persistence.keys.node_rates import SETS, SIZE, WAYS, NodeRates
from service.persistence.keys.rates import (
    FULL,
    MOST,
    SECOND,
    WINDOW,
    MemoryRates,
    Rates,
    SqlRates,
    counted,
)
from service.persistence.sql.engine import open_engine
from tests.api.world import HandClock


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture(
    params=["memory", "node", "sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]
)
def rates(request: pytest.FixtureRequest, clock: HandClock, tmp_path: Path) -> Rates:
    if request.param == "memory":
        return MemoryRates(clock.monotonic)
    if request.param == "node":
        return NodeRates(tmp_path / "rates", clock.monotonic)
    engine: Engine = request.getfixturevalue(f"{request.param}_engine")
    return SqlRates(engine, clock)


def test_a_minutes_worth_may_come_at_once_and_no_more(rates: Rates) -> None:
    taken = [rates.take("k", 6) for _ in range(7)]
    assert [allowance.left for allowance in taken] == [5, 4, 3, 2, 1, 0, 0]
    assert [allowance.full_in for allowance in taken] == [10, 20, 30, 40, 50, 60, 60]
    assert [allowance.wait for allowance in taken] == [0, 0, 0, 0, 0, 0, 10]
    assert {allowance.quota for allowance in taken} == {6}


def test_whoever_waits_as_told_goes_on(rates: Rates, clock: HandClock) -> None:
    while not (refused := rates.take("k", 6)).wait:
        pass
    clock.move(seconds=refused.wait - 1)
    assert rates.take("k", 6).wait == 1
    clock.move(seconds=1)
    assert rates.take("k", 6).wait == 0
    assert rates.take("k", 6).wait == 10


def test_a_refused_request_costs_nothing(rates: Rates, clock: HandClock) -> None:
    for _ in range(50):
        rates.take("k", 6)
    clock.move(seconds=WINDOW)
    assert rates.take("k", 6).left == 5


def test_over_a_long_time_as_many_pass_as_are_earned(rates: Rates, clock: HandClock) -> None:
    passed = 0
    for _ in range(300):
        passed += rates.take("k", 12).wait == 0
        clock.move(seconds=1)
    assert passed == 12 + 299 * 12 // 60  # the first at 0 s, the last at 299 s


def test_several_requests_count_together_or_not_at_all(rates: Rates, clock: HandClock) -> None:
    assert rates.take("k", 6, 4).left == 2
    refused = rates.take("k", 6, 3)
    assert (refused.left, refused.wait) == (2, 10)
    assert rates.take("k", 6, 2).left == 0
    clock.move(seconds=30)
    assert rates.take("k", 6, 3).wait == 0
    assert rates.take("k", 6).wait == 10


def test_keys_do_not_share(rates: Rates) -> None:
    while not rates.take("one", 3).wait:
        pass
    assert rates.take("two", 3).left == 2


def test_another_limit_counts_at_once(rates: Rates) -> None:
    while not rates.take("k", 2).wait:
        pass
    assert rates.take("k", 1_000).wait > 0  # the minute is used up
    assert rates.take("k", 1).wait > 0


def test_a_clock_that_is_set_back_locks_nobody_out(rates: Rates, clock: HandClock) -> None:
    rates.take("k", 6)
    clock.now -= timedelta(hours=1)
    assert rates.take("k", 6).wait == 0


def test_nodes_count_together(engine: Engine, clock: HandClock) -> None:
    nodes = [SqlRates(engine, clock) for _ in range(4)]
    with ThreadPoolExecutor(4) as pool:
        taken = list(pool.map(lambda number: nodes[number % 4].take("k", 10).wait == 0, range(24)))
    assert sum(taken) == 10


def test_threads_count_together(clock: HandClock) -> None:
    rates = MemoryRates(clock.monotonic)
    with ThreadPoolExecutor(8) as pool:
        taken = list(pool.map(lambda _: rates.take("k", 100).wait == 0, range(500)))
    assert sum(taken) == 100


def _passed(file: Path, requests: int) -> int:
    """How many requests of a worker pass, at a time that stands still."""
    rates = NodeRates(file, lambda: 1000.0)
    return sum(rates.take("k", 500).wait == 0 for _ in range(requests))


def test_workers_of_a_machine_count_together_to_the_request(tmp_path: Path) -> None:
    with get_context("spawn").Pool(4) as workers:
        passed = workers.starmap(_passed, [(tmp_path / "rates", 300)] * 4)
    assert sum(passed) == 500


def _dies_with_the_lock(file: Path) -> None:
    rates = NodeRates(file, lambda: 1000.0)
    rates.take("k", 3)
    fcntl.flock(rates._file, fcntl.LOCK_EX)
    os.kill(os.getpid(), signal.SIGKILL)


def test_a_worker_that_dies_with_the_lock_holds_nobody_up(tmp_path: Path) -> None:
    worker = get_context("spawn").Process(target=_dies_with_the_lock, args=(tmp_path / "rates",))
    worker.start()
    worker.join(60)
    assert worker.exitcode == -signal.SIGKILL
    assert NodeRates(tmp_path / "rates", lambda: 1000.0).take("k", 3).left == 1


def test_a_full_table_lets_go_of_the_key_that_matters_least(
    tmp_path: Path, clock: HandClock
) -> None:
    rates = NodeRates(tmp_path / "rates", clock.monotonic)
    clock.move(days=1)
    while not rates.take("busy", 6).wait:
        pass
    for number in range(3 * SETS * WAYS):
        rates.take(str(number), 60)
    assert rates.take("busy", 6).wait > 0  # its bucket is empty, the others' are nearly full
    assert (tmp_path / "rates").stat().st_size == SIZE
    assert rates.take("another", 60).left == 59


def test_memory_does_not_grow_with_keys_long_gone(clock: HandClock) -> None:
    rates = MemoryRates(clock.monotonic)
    for number in range(MOST):
        rates.take(str(number), 60)
    clock.move(seconds=WINDOW)
    rates.take("another", 60)
    assert len(rates._full_at) == 1


@pytest.mark.parametrize("per_minute", [1, 7, 6_000, 1_000_000, 10_000_000])
def test_any_limit_can_be_counted(per_minute: int) -> None:
    full_at, allowance = counted(0, 5 * SECOND, per_minute)
    assert 5 * SECOND < full_at <= 5 * SECOND + FULL
    assert allowance.wait == 0
    assert per_minute - 1 <= allowance.left <= FULL


def test_a_database_that_is_away_refuses_nobody(clock: HandClock) -> None:
    rates = SqlRates(open_engine("sqlite:////nowhere/at/all.sqlite3"), clock)
    assert rates.take("k", 6).wait == 0
