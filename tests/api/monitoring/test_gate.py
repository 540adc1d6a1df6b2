"""A key that the worker refused before the body was read is not looked up again."""

from __future__ import annotations

from service.api.monitoring.gate import Gate, Withheld
from service.app.keys.access import not_known
from tests.api.world import World, job


def test_the_workers_refusal_of_a_key_is_final(world: World) -> None:
    """The key sent is in force, so only the worker's refusal can be the reason for the answer."""
    refused = Withheld(not_known(), of_key=True)
    answer = world.post("/v1/estimates", job(), environ_overrides={"wsgi.input": refused})
    assert answer.status_code == 401
    assert answer.json["type"].endswith("not_known")


def test_a_body_that_was_too_large_says_nothing_of_the_key(world: World) -> None:
    withheld = Withheld(not_known())
    answer = world.ask("GET", "/v1/shop", environ_overrides={"wsgi.input": withheld})
    assert answer.status_code == 200


def test_a_request_that_no_thread_had_time_for_is_told_to_come_again(world: World) -> None:
    busy = Gate(world.wiring).busy()
    answer = world.post("/v1/quotes", job(), environ_overrides={"wsgi.input": busy})
    assert answer.status_code == 503
    assert answer.json["type"].endswith("unavailable")
    assert int(answer.headers["Retry-After"]) > 0
    assert world.ask("GET", "/v1/quotes").json["items"] == []
