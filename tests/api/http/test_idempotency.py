"""Idempotency-Key (IETF draft, version 07): done once, on any node, and after a crash too."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier, Event
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select, text
from werkzeug.test import TestResponse

from service.api.application import create_app
from service.api.http.idempotency import LONGEST
from service.app.keys.beats import BEAT_EVERY
from service.app.keys.idempotency import LEASE, Asked, StillRunning, begin, finish
from service.persistence.keys.idempotency import (
    KeptAnswer,
    OnceRequest,
    SqlOnceRequests,
    idempotent_requests,
)
from service.wiring import wire
from tests.api.world import World, job, problem_of

QUOTES = "/v1/quotes"
NAME = "8e03978e-40d5-43dd-bc93-6894a57f9324"


def _send(world: World, name: str = NAME, scope: str = "counter", **more: Any) -> TestResponse:
    document = more.pop("document", job())
    client = more.pop("client", world.client)
    headers = {"Authorization": f"Bearer {world.tokens[scope]}", "Idempotency-Key": name}
    body = json.dumps(document)
    return client.post(
        more.pop("path", QUOTES), data=body, headers=headers, content_type="application/json"
    )


@pytest.fixture
def other_node(world: World) -> Iterator[FlaskClient]:
    """A second node over the same database, that shares nothing else."""
    wiring = wire(world.wiring.settings, world.clock, monotonic=world.clock.monotonic)
    yield create_app(wiring).test_client()
    wiring.close()


def _same(one: TestResponse, two: TestResponse) -> None:
    assert one.get_data() == two.get_data()
    assert one.status_code == two.status_code
    for name in ("Location", "Content-Type", "ETag"):
        assert one.headers.get(name) == two.headers.get(name), name


def test_sent_twice_is_stored_once_and_answered_alike(
    world: World, other_node: FlaskClient
) -> None:
    first = _send(world)
    assert first.status_code == 201
    assert first.headers["Location"].endswith(first.get_json()["id"])
    rows = world.rows()
    _same(first, _send(world))
    _same(first, _send(world, client=other_node))
    assert world.rows() == rows
    assert rows["quotes"] == rows["events"] == 1


def test_the_first_answer_is_given_even_when_prices_have_changed_since(world: World) -> None:
    first = _send(world)
    with world.wiring.engine.begin() as connection:
        connection.execute(text("UPDATE quotes SET status = 'declined'"))
        connection.execute(text("UPDATE shops SET version = version + 1"))
    world.clock.move(hours=1)
    _same(first, _send(world))


def test_the_key_with_quotes_is_the_same_without(world: World) -> None:
    _same(_send(world, NAME), _send(world, f'"{NAME}"'))
    assert world.rows()["quotes"] == 1


def test_another_body_or_address_under_the_same_key_is_refused(world: World) -> None:
    assert _send(world).status_code == 201
    problem_of(_send(world, document={**job(), "reference": "other"}), 422, "key_reused")
    problem_of(_send(world, path=f"{QUOTES}?x=1"), 422, "key_reused")
    assert world.rows()["quotes"] == 1


def test_each_key_of_a_shop_has_names_of_its_own(world: World) -> None:
    mine = _send(world).get_json()["id"]
    for scope in ("price", "admin"):
        assert _send(world, scope=scope).get_json()["id"] != mine
    assert world.rows()["quotes"] == 3


def test_a_refused_request_may_be_put_right_and_sent_again(world: World) -> None:
    bad = {**job(), "jobs": []}
    assert _send(world, document=bad).status_code == 422
    assert world.rows()["idempotent_requests"] == 0
    assert _send(world).status_code == 201
    problem_of(_send(world, scope="bench"), 403, "not_allowed")
    assert world.rows()["idempotent_requests"] == 1


def test_a_failure_leaves_nothing_and_may_be_tried_again(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("a fault of ours, after the quote was added")

    with monkeypatch.context() as patched:
        patched.setattr("service.api.quotes.views._created", fail)
        problem_of(_send(world), 500, "failed")
    assert world.rows()["quotes"] == world.rows()["idempotent_requests"] == 0
    assert _send(world).status_code == 201


def test_a_revoked_key_is_not_answered_again(world: World) -> None:
    assert _send(world).status_code == 201
    key_id = world.tokens["counter"].split("_")[1]
    with world.wiring.units.writing() as uow:
        uow.keys.revoke(world.shop_id, key_id, world.clock())
        uow.commit()
    problem_of(_send(world), 401, "not_known")


@pytest.mark.parametrize(
    "name", ["", '""', "a b", '"a', 'a"b"', "é", "a,b", "a" * (LONGEST + 1), '"a","b"', "a\tb"]
)
def test_what_is_no_key_is_refused(still_world: World, name: str) -> None:
    before = still_world.rows()
    problem_of(_send(still_world, name), 400, "bad_header")
    assert still_world.rows() == before


@pytest.mark.parametrize("name", ["a", "a" * LONGEST, '"a b"', r'"a\"b\\"', "2026-11-25/W-1021"])
def test_what_is_a_key(world: World, name: str) -> None:
    first = _send(world, name)
    assert first.status_code == 201
    _same(first, _send(world, name))


def test_answers_are_forgotten_after_the_time_set(world: World) -> None:
    first = _send(world)
    world.clock.move(hours=world.wiring.settings.idempotency_hours - 1)
    _same(first, _send(world))
    world.clock.move(hours=1)
    again = _send(world)
    assert again.status_code == 201
    assert again.get_json()["id"] != first.get_json()["id"]
    assert world.rows()["idempotent_requests"] == 1  # the new one in the place of the old


def test_what_is_old_is_tidied_away(world: World) -> None:
    for number in range(5):
        _send(world, f"name-{number}")
    world.clock.move(hours=world.wiring.settings.idempotency_hours)
    _send(world, "young")
    with world.wiring.units.writing() as uow:
        assert uow.once.forget(world.clock(), 3) == 3
        assert uow.once.forget(world.clock(), 100) == 2
        uow.commit()
    assert world.rows()["idempotent_requests"] == 1


def test_a_request_without_the_header_costs_no_statement_more(world: World) -> None:
    world.post(QUOTES, job())
    with world.statements() as plain:
        world.post(QUOTES, job())
    assert not any("idempotent" in statement for statement in plain)
    assert world.rows()["idempotent_requests"] == 0


def _stop_at_note(monkeypatch: pytest.MonkeyPatch, begun: Event, go_on: Event) -> None:
    """Holds the first request up where it has worked its quote out and not begun to store it."""
    from service.api.quotes import views as quotes  # noqa: PLC0415 — patched where it is used

    work = quotes.estimate_request

    def slowly(*arguments: Any) -> Any:
        done = work(*arguments)
        if not begun.is_set():
            begun.set()
            assert go_on.wait(60)
        return done

    monkeypatch.setattr("service.api.quotes.views.estimate_request", slowly)


def test_while_it_runs_a_second_sending_is_told_so(
    world: World, other_node: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = Event(), Event()
    _stop_at_note(monkeypatch, begun, go_on)
    with ThreadPoolExecutor(1) as pool:
        first = pool.submit(_send, world, client=world.client.application.test_client())
        assert begun.wait(60)
        second = _send(world, client=other_node)
        problem_of(second, 409, "still_running")
        assert int(second.headers["Retry-After"]) >= 1
        problem_of(_send(world, document={**job(), "reference": "x"}), 422, "key_reused")
        assert world.post(QUOTES, job()).status_code == 201  # nothing is locked meanwhile
        go_on.set()
        done = first.result(20)
    assert done.status_code == 201
    _same(done, _send(world, client=other_node))


def test_whoever_was_taken_over_stores_nothing(
    world: World, other_node: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    world.wiring.beats.close()  # as if the process stood still
    begun, go_on = Event(), Event()
    _stop_at_note(monkeypatch, begun, go_on)
    with ThreadPoolExecutor(1) as pool:
        stuck = pool.submit(_send, world, client=world.client.application.test_client())
        assert begun.wait(60)
        world.clock.now += LEASE - timedelta(seconds=1.5)
        told = _send(world, client=other_node)
        problem_of(told, 409, "still_running")
        assert told.headers["Retry-After"] == "2"
        world.clock.move(seconds=2)
        done = _send(world, client=other_node)
        go_on.set()
        late = stuck.result(20)
    assert done.status_code == 201
    problem_of(late, 409, "still_running")
    _same(done, _send(world))
    assert world.rows()["quotes"] == 1


def test_what_is_worked_on_is_not_taken_over(
    world: World, other_node: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = Event(), Event()
    _stop_at_note(monkeypatch, begun, go_on)
    with ThreadPoolExecutor(1) as pool:
        slow = pool.submit(_send, world, client=world.client.application.test_client())
        assert begun.wait(20)
        for _ in range(3):
            world.clock.now += LEASE
            _until_heard_of(world)
            problem_of(_send(world, client=other_node), 409, "still_running")
        go_on.set()
        done = slow.result(20)
    assert done.status_code == 201
    _same(done, _send(world, client=other_node))
    assert world.rows()["quotes"] == 1


def _until_heard_of(world: World) -> None:
    """Wait until the one request that is held lapses later than now."""
    ends = time.monotonic() + 20
    while time.monotonic() < ends:
        with world.wiring.engine.connect() as connection:
            lapses = connection.execute(select(idempotent_requests.c.lapses_at)).scalar_one()
        if lapses > world.clock():
            return
        time.sleep(BEAT_EVERY / 10)
    raise AssertionError("nothing was heard of the request")


def test_what_was_done_between_look_and_update_is_not_taken_over(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = Asked(world.tokens["counter"].split("_")[1], "late", "0" * 64)
    life, now = timedelta(hours=24), world.clock()
    with world.wiring.units.writing() as uow:
        first = begin(uow, asked, now, life)
        uow.commit()
    looked = SqlOnceRequests.find

    def look_and_wait(self: SqlOnceRequests, key_id: str, name: str) -> OnceRequest:
        there = looked(self, key_id, name)
        if there.answer is None:
            self.finish(first, KeptAnswer(201, b"[]", b"{}"))  # as its own node does just now
        return there

    monkeypatch.setattr(SqlOnceRequests, "find", look_and_wait)
    with world.wiring.units.writing() as uow:
        found = begin(uow, asked, now + timedelta(minutes=3), life)
        uow.commit()
    assert found.answer == KeptAnswer(201, b"[]", b"{}")


def test_nodes_whose_clocks_are_apart_do_it_once(world: World) -> None:
    """Sent to two nodes again and again while one is at work, their clocks an hour apart."""
    settings = world.wiring.settings
    ahead = wire(settings, lambda: world.clock() + timedelta(hours=1))
    nodes = [world.client.application, create_app(ahead)]
    for turn in range(12):
        name = f"turn-{turn}"
        with ThreadPoolExecutor(4) as pool:
            sent = [
                pool.submit(_send, world, name, client=nodes[n % 2].test_client()) for n in range(4)
            ]
            answers = [one.result(60) for one in sent]
        assert {a.status_code for a in answers} <= {201, 409}
        assert len({a.get_data() for a in answers if a.status_code == 201}) <= 1
        assert world.rows()["quotes"] == turn + 1
    ahead.close()


def test_many_at_once_store_one(world: World, other_node: FlaskClient) -> None:
    nodes = [world.client.application, other_node.application]
    threads = 8
    together = Barrier(threads)

    def send(number: int) -> TestResponse:
        together.wait(60)
        return _send(world, client=nodes[number % 2].test_client())

    with ThreadPoolExecutor(threads) as pool:
        answers = list(pool.map(send, range(threads)))
    statuses = sorted(answer.status_code for answer in answers)
    assert set(statuses) <= {201, 409}
    assert 201 in statuses
    assert len({a.get_data() for a in answers if a.status_code == 201}) == 1
    assert world.rows()["quotes"] == 1


CRASH = """
import json, os, sys
from datetime import datetime
from service.api import create_app
from service.persistence.unit_of_work import UnitOfWork
from service.settings import Settings
from service.wiring import wire

commit, left = UnitOfWork.commit, [int(sys.argv[1])]

def until_then(self):
    if left[0] == 0:
        os._exit(7)  # as if the power went: no clean-up, no answer
    left[0] -= 1
    commit(self)
    if left[0] == 0 and sys.argv[2] == "after":
        os._exit(7)

UnitOfWork.commit = until_then
sent = json.load(sys.stdin)
now = datetime.fromisoformat(sent["now"])
app = create_app(wire(Settings.read(os.environ), lambda: now))
app.test_client().post(sent["path"], data=sent["body"], headers=sent["headers"])
"""


def _crash(world: World, commits: int, when: str) -> None:
    """The same request in a process that dies before or after its n-th commit."""
    headers = {
        "Authorization": f"Bearer {world.tokens['counter']}",
        "Idempotency-Key": NAME,
        "Content-Type": "application/json",
    }
    sent = {"path": QUOTES, "body": json.dumps(job()), "headers": headers}
    sent["now"] = world.clock().isoformat()
    done = subprocess.run(
        [sys.executable, "-c", CRASH, str(commits), when],
        input=json.dumps(sent),
        text=True,
        env={"DATABASE_URL": world.wiring.settings.database_url},
        timeout=60,
        check=False,
    )
    assert done.returncode == 7


def _use_once(world: World) -> None:
    """Have the key's use noted, so that this is no commit of the request itself."""
    assert world.ask("GET", QUOTES).status_code == 200
    assert world.post("/v1/estimates", job()).status_code == 200


def test_a_crash_after_the_effect_loses_no_answer(world: World) -> None:
    _use_once(world)
    _crash(world, 2, "after")
    assert world.rows()["quotes"] == 1
    with world.wiring.engine.connect() as connection:
        kept = connection.execute(select(idempotent_requests.c.body)).scalar_one()
    again = _send(world)
    assert again.status_code == 201
    assert again.get_data() == kept
    assert world.ask("GET", again.headers["Location"]).status_code == 200
    assert world.rows()["quotes"] == 1


@pytest.mark.parametrize(("commits", "when"), [(1, "after"), (1, "before")])
def test_a_crash_before_the_effect_is_made_good(world: World, commits: int, when: str) -> None:
    _use_once(world)
    _crash(world, commits, when)
    assert world.rows()["quotes"] == 0
    told = _send(world)
    problem_of(told, 409, "still_running")
    wait = int(told.headers["Retry-After"])
    assert wait <= 6
    world.clock.move(seconds=wait)
    first = _send(world)
    assert first.status_code == 201
    _same(first, _send(world))
    assert world.rows()["quotes"] == 1


def test_a_claim_by_a_clock_that_was_set_back_is_taken_over(world: World) -> None:
    key = world.tokens["counter"].split("_")[1]
    asked = Asked(key, "ahead", "0" * 64)
    life = timedelta(hours=24)
    now = world.clock()
    with world.wiring.units.writing() as uow:
        lost = begin(uow, asked, now + timedelta(hours=1), life)
        uow.commit()
    with world.wiring.units.writing() as uow:
        mine = begin(uow, asked, now, life)
        uow.commit()
    assert mine.answer is None
    assert mine.claim != lost.claim
    with world.wiring.units.writing() as uow, pytest.raises(StillRunning):
        finish(uow, lost, KeptAnswer(201, b"[]", b"{}"))
    with world.wiring.units.writing() as uow, pytest.raises(StillRunning) as told:
        begin(uow, asked, now - timedelta(seconds=50), life)
    assert told.value.wait == LEASE + timedelta(seconds=50)
