"""A connection that is lost during COMMIT: what is told is what is so, on a real server."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.engine.default import DefaultDialect
from sqlalchemy.exc import OperationalError

from service.app.keys import settling
from service.persistence.sql.clock import READ_EVERY, DatabaseClock
from service.persistence.sql.outcomes import is_undone
from tests.api.world import World, job, make_world, problem_of

QUOTES = "/v1/quotes"
pytestmark = pytest.mark.postgres


@pytest.fixture
def world(postgres_engine: Any, migrated_postgres: str) -> Iterator[World]:
    """The service over PostgreSQL."""
    made = make_world(migrated_postgres)
    assert made.post("/v1/estimates", job()).status_code == 200
    assert made.ask("GET", QUOTES).status_code == 200  # notes the use of the key
    yield made
    made.wiring.close()


@pytest.fixture
def lose(world: World, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Lose the connection at the next COMMIT of a quote, before or after the server has done it."""

    def arm(*, done: bool, away: bool = False) -> None:
        commit = DefaultDialect.do_commit
        lost: list[int] = []

        def do_commit(dialect: Any, connection: Any) -> None:
            driver = connection.dbapi_connection
            stored = "SELECT count(*) FROM quotes"
            with driver.cursor() as cursor:
                if lost or not cursor.execute(stored).fetchone()[0]:
                    commit(dialect, connection)
                    return
            lost.append(1)
            if done:
                commit(dialect, connection)
            _end(world, driver.info.backend_pid)
            if away:
                monkeypatch.setattr(world.wiring.units, "writing", _away)
            driver.execute("COMMIT")  # which finds the connection gone

        monkeypatch.setattr(type(world.wiring.engine.dialect), "do_commit", do_commit)

    return arm


def _away() -> Any:
    raise settling.StorageUnavailable("the database is away")


def _end(world: World, pid: int) -> None:
    with world.wiring.engine.connect() as other:
        other.execute(text("SELECT pg_terminate_backend(:pid, 5000)"), {"pid": pid})


def _keyed(name: str) -> dict[str, str]:
    return {"Idempotency-Key": name}


@pytest.mark.parametrize("headers", [{}, _keyed("a")])
def test_what_was_stored_is_answered_as_stored(
    world: World, lose: Callable[..., None], headers: dict[str, str]
) -> None:
    lose(done=True)
    made = world.post(QUOTES, job(), headers=headers)
    assert made.status_code == 201, made.get_json()
    assert world.rows()["quotes"] == 1
    assert world.ask("GET", made.headers["Location"]).get_data() == made.get_data()


@pytest.mark.parametrize("headers", [{}, _keyed("a")])
def test_what_was_not_stored_is_told_so(
    world: World, lose: Callable[..., None], headers: dict[str, str]
) -> None:
    lose(done=False)
    told = problem_of(world.post(QUOTES, job(), headers=headers), 503, "unavailable")
    assert "nothing was stored" in told["detail"]
    assert world.rows()["quotes"] == world.rows()["idempotent_requests"] == 0


@pytest.mark.parametrize("headers", [{}, _keyed("a")])
def test_what_is_not_known_is_told_so(
    world: World,
    lose: Callable[..., None],
    headers: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(settling, "PATIENCE", 0.3)
    monkeypatch.setattr(settling.settled, "__defaults__", (0.3,))
    with monkeypatch.context():
        lose(done=True, away=True)
        answer = world.post(QUOTES, job(), headers=headers)
    told = problem_of(answer, 503, "outcome_unknown")
    assert "nothing was stored" not in told["detail"]
    assert "not known" in told["detail"]
    assert int(answer.headers["Retry-After"]) > 0
    assert world.rows()["quotes"] == 1
    monkeypatch.undo()
    if headers:
        again = world.post(QUOTES, job(), headers=headers)
        assert again.status_code == 201
        assert world.rows()["quotes"] == 1


def test_what_no_standby_is_known_to_have_is_not_called_stored(
    world: World, lose: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(settling.settled, "__defaults__", (0.3,))
    monkeypatch.setattr("service.persistence.unit_of_work.waits_for_standby", lambda _: True)
    lose(done=True)
    problem_of(world.post(QUOTES, job()), 503, "outcome_unknown")


@pytest.mark.parametrize(
    ("code", "undone"),
    [(sqlite3.SQLITE_FULL, True), (sqlite3.SQLITE_BUSY, True), (sqlite3.SQLITE_IOERR, False)],
)
def test_what_sqlite_says_of_a_commit(code: int, undone: bool) -> None:
    driver = sqlite3.OperationalError("it failed")
    driver.sqlite_errorcode = code
    assert is_undone(OperationalError("COMMIT", None, driver)) is undone


def test_clocks_that_are_apart_tell_one_time(world: World) -> None:
    engine = world.wiring.engine
    clocks = [
        DatabaseClock(engine, lambda hours=hours: datetime.now(UTC) + timedelta(hours=hours))
        for hours in (0, 1, -3)
    ]
    with engine.connect() as connection:
        before = connection.execute(text("SELECT clock_timestamp()")).scalar_one()
        told = [clock() for clock in clocks]
        after = connection.execute(text("SELECT clock_timestamp()")).scalar_one()
    slack = timedelta(seconds=0.5)
    assert all(before - slack <= at <= after + slack for at in told)


def test_the_clock_is_read_again_and_goes_on_where_the_database_is_away(world: World) -> None:
    counted = [100.0]
    clock = DatabaseClock(world.wiring.engine, lambda: datetime.now(UTC), lambda: counted[0])
    first = clock()
    counted[0] += 3
    assert clock() - first == timedelta(seconds=3)
    with world.statements() as seen, world.wiring.engine.connect() as connection:
        clock.follow(connection)
        assert seen == []
        counted[0] += READ_EVERY
        clock.follow(connection)
        assert seen == ["SELECT clock_timestamp()"]
