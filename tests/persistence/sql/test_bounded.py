"""Waits for PostgreSQL that end, and threads that tell each other of a server that hangs."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import Engine, text

from service.persistence.sql import bounded
from service.persistence.sql.engine import open_engine
from service.persistence.sql.outage import AGAIN_SECONDS, SLOW_SECONDS, Outage
from service.persistence.sql.session import OutcomeUnknown, StorageUnavailable
from service.persistence.sql.turns import NoTurn, Turns
from service.persistence.unit_of_work import UnitsOfWork


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@contextmanager
def _standing_still(pid: int) -> Iterator[None]:
    """The one process of the server that serves a connection, stopped."""
    os.kill(pid, signal.SIGSTOP)
    try:
        yield
    finally:
        os.kill(pid, signal.SIGCONT)


@pytest.fixture
def own(postgres_engine: Engine) -> Iterator[Engine]:
    """An engine whose one connection nobody else uses."""
    engine = open_engine(postgres_engine.url.render_as_string(hide_password=False), connections=1)
    with engine.connect() as connection:
        server = connection.execute(text("SELECT pg_backend_pid()")).scalar_one()
    try:
        os.kill(server, 0)
    except (PermissionError, ProcessLookupError):
        pytest.skip("the server's processes are not this user's to stop")
    yield engine
    engine.dispose()


def _server_of(engine: Engine) -> int:
    with engine.connect() as connection:
        found: int = connection.execute(text("SELECT pg_backend_pid()")).scalar_one()
    return found


@pytest.mark.postgres
def test_a_pooled_connection_that_hangs_is_replaced_within_seconds(
    own: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounded, "FRESH_SECONDS", 0)
    with _standing_still(_server_of(own)):
        began = time.monotonic()
        with UnitsOfWork(own).reading() as uow:
            assert uow.keys.of_shop("s1") == ()
        assert time.monotonic() - began < 2 * bounded.PING_SECONDS + 3


@pytest.mark.postgres
def test_a_statement_that_is_not_answered_ends_and_its_connection_too(
    own: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = _server_of(own)
    drivers = []

    def ask() -> None:
        with UnitsOfWork(own).reading() as uow:
            driver = uow._connection.connection.driver_connection  # type: ignore[union-attr]
            drivers.append(driver)
            monkeypatch.setattr(type(driver), "longest", 1.0)
            with _standing_still(server):
                uow.keys.of_shop("s1")

    began = time.monotonic()
    with pytest.raises(StorageUnavailable) as refused:
        ask()
    assert 1 <= time.monotonic() - began < 15
    assert "did not answer in time" in str(refused.value.__cause__)
    assert drivers[0].closed
    assert own.pool.checkedout() == 0  # type: ignore[attr-defined]


@pytest.mark.postgres
def test_a_commit_that_is_not_answered_ends_sooner_and_says_how_long_it_waited(
    own: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = _server_of(own)

    def store() -> None:
        with UnitsOfWork(own).writing() as uow:
            driver = uow._connection.connection.driver_connection  # type: ignore[union-attr]
            monkeypatch.setattr(type(driver), "longest", 4.0)
            assert uow.keys.of_shop("s1") == ()  # else there is nothing to commit
            with _standing_still(server):
                uow.commit()

    with pytest.raises(OutcomeUnknown) as lost:
        store()
    assert 2 <= lost.value.waited < 4


@pytest.mark.postgres
def test_a_server_has_a_limit_of_its_own(fresh_postgres: str) -> None:
    engine = open_engine(fresh_postgres, statement_seconds=3)
    with engine.connect() as connection:
        shown = connection.execute(text("SHOW statement_timeout")).scalar_one()
        assert connection.connection.driver_connection.longest == 4  # type: ignore[union-attr]
    engine.dispose()
    assert shown == "3s"


@pytest.mark.postgres
def test_a_note_of_a_key_s_use_waits_for_nobody(postgres_engine: Engine) -> None:
    units = UnitsOfWork(postgres_engine)
    with units.writing(lock_seconds=0.05) as uow:
        shown = uow._connection.execute(text("SHOW lock_timeout"))  # type: ignore[union-attr]
        assert shown.scalar_one() == "50ms"
    with units.writing() as uow:
        shown = uow._connection.execute(text("SHOW lock_timeout"))  # type: ignore[union-attr]
        assert shown.scalar_one() == "4s"


def test_a_short_wait_for_a_turn_is_short(tmp_path: object) -> None:
    turns = Turns(f"{tmp_path}/x.sqlite3", 10)
    other = Turns(f"{tmp_path}/x.sqlite3", 10)
    turns.take()
    began = time.monotonic()
    with pytest.raises(NoTurn):
        other.take(0.05)
    assert time.monotonic() - began < 5
    turns.give_back()
    other.take(0.05)
    other.give_back()


def test_one_who_waited_in_vain_tells_the_others_and_one_of_them_tries_again() -> None:
    clock = Clock()
    outage = Outage(clock)
    assert outage.lets_in()
    began = clock.now
    clock.now += SLOW_SECONDS
    outage.failed(OSError(), began)
    assert not outage.lets_in()
    clock.now += AGAIN_SECONDS
    assert [outage.lets_in() for _ in range(3)] == [True, False, False]
    outage.failed(OSError(), clock.now)  # even at once: it is known to hang
    assert not outage.lets_in()
    clock.now += AGAIN_SECONDS
    assert outage.lets_in()
    outage.over()
    assert [outage.lets_in() for _ in range(3)] == [True] * 3


def test_what_fails_at_once_or_is_said_by_the_server_is_no_hang() -> None:
    class Said(Exception):
        orig = type("Original", (), {"sqlstate": "55P03"})()

    clock = Clock()
    outage = Outage(clock)
    outage.failed(OSError(), clock.now)
    outage.failed(Said(), clock.now - 10)
    assert outage.lets_in()
