"""Requests are counted by route, and told in one line without anything that was sent."""

from __future__ import annotations

import logging
import re
import time

import pytest
from prometheus_client.parser import text_string_to_metric_families

from service.api.monitoring import metrics
from service.app.audit import note
from service.logs import FIELDS
from tests.api.world import World, job

LOGGER = "framing_quotes.requests"


def _figures(world: World) -> dict[tuple[str, tuple[tuple[str, str], ...]], float]:
    """What `/metrics` tells, read by the library's own parser of the published text format."""
    answer = world.ask("GET", "/metrics", None)
    assert answer.status_code == 200
    assert answer.content_type == "text/plain; version=0.0.4; charset=utf-8"
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in text_string_to_metric_families(answer.get_data(as_text=True))
        for sample in family.samples
    }


def _requests(world: World, method: str, route: str, status: str) -> float:
    labels = (("method", method), ("route", route), ("status", status))
    return _figures(world).get(("framing_quotes_requests_total", labels), 0)


def test_answers_are_counted_by_route_and_status(world: World) -> None:
    before = _requests(world, "GET", "/v1/quotes/<quote_id>", "404")
    for number in ("nothing", "nothing-else"):
        assert world.ask("GET", f"/v1/quotes/{number}").status_code == 404
    assert _requests(world, "GET", "/v1/quotes/<quote_id>", "404") == before + 2
    labels = (("method", "GET"), ("route", "/v1/quotes/<quote_id>"))
    assert _figures(world)["framing_quotes_request_seconds_count", labels] >= before + 2


def test_what_is_stored_and_what_waits_is_told(world: World) -> None:
    quote = world.post("/v1/quotes", job()).get_json()
    answer = world.ask("GET", f"/v1/quotes/{quote['id']}")
    headers = {"If-Match": answer.headers["ETag"]}
    taken = world.ask("POST", f"/v1/quotes/{quote['id']}/accept", headers=headers)
    assert taken.status_code == 200, taken.get_data(as_text=True)
    figures = _figures(world)
    assert figures["framing_quotes_stored_total", (("series", "quote"),)] == 1
    assert figures["framing_quotes_tickets", (("state", "waiting"),)] == 1
    assert figures["framing_quotes_tickets", (("state", "in_work"),)] == 0
    assert figures["framing_quotes_database_up", ()] == 1


def test_the_lag_of_the_feed_is_told(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    name = "framing_quotes_feed_lag_seconds"
    monkeypatch.setattr(metrics, "STOCK_SECONDS", 0)
    assert _figures(world)[name, ()] == 0
    with world.wiring.units.writing() as uow:
        told = {"kind": "quote.created", "subject": "quote", "subject_id": "q"}
        note(uow, shop_id=world.shop_id, key_id="k", at=world.clock(), **told)
        time.sleep(1.1)
        ready = world.ask("GET", "/readyz", None).get_json()
        lag = _figures(world)[name, ()]
    holds = world.wiring.engine.dialect.name == "postgresql"  # SQLite has one writer at a time
    assert (ready["status"], ready["feed_lag_seconds"] > 0) == ("ready", holds)
    assert (lag > 1) is holds


def test_looking_often_asks_the_database_seldom(world: World) -> None:
    _figures(world)
    with world.statements() as seen:
        _figures(world)
        _figures(world)
    assert seen == []


def test_labels_do_not_grow_with_addresses_and_methods(still_world: World) -> None:
    still_world.ask("GET", "/metrics", None)
    for number in range(20):
        still_world.ask("GET", f"/nothing/{number}", None)
        still_world.ask(f"WORD{number}", "/v1/quotes", None)
    lines = still_world.ask("GET", "/metrics", None).get_data(as_text=True)
    assert 'method="GET",route="none",status="404"' in lines
    assert 'method="other"' in lines
    assert not re.search(r"WORD|/nothing", lines)


def test_a_line_tells_key_route_status_and_time(
    world: World, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO, LOGGER):
        world.post("/v1/quotes", job())
        world.ask("GET", "/v1/quotes?reference=W-1021")
        world.ask("GET", "/healthz", None)
    stored, listed = [record for record in caplog.records if record.name == LOGGER]
    fields = getattr(stored, FIELDS)
    assert fields["key"] == world.tokens["counter"].split("_")[1]
    assert (fields["method"], fields["route"], fields["status"]) == ("POST", "/v1/quotes", 201)
    assert 0 < fields["ms"] < 10_000
    told = " ".join(str(getattr(record, FIELDS)) for record in (stored, listed))
    assert "W-1021" not in told
    assert "Okafor" not in told
    assert world.tokens["counter"].split("_", 2)[2] not in told


@pytest.mark.parametrize(
    "sent",
    [
        "Bearer fq_0123456789abcdef_wrong",
        "Bearer fq_thisisreallyasecret_x",
        "Basic dXNlcjpwYXNzd29yZA==",
        "Bearer " + "x" * 500,
    ],
)
def test_a_key_that_is_not_known_is_not_told(
    still_world: World, caplog: pytest.LogCaptureFixture, sent: str
) -> None:
    with caplog.at_level(logging.INFO, LOGGER):
        still_world.ask("GET", "/v1/quotes", None, headers={"Authorization": sent})
    (record,) = [record for record in caplog.records if record.name == LOGGER]
    assert getattr(record, FIELDS)["key"] == ""
    assert getattr(record, FIELDS)["status"] == 401
