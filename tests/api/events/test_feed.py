"""`/v1/events`: the change feed and the audit."""

from __future__ import annotations

from base64 import urlsafe_b64encode
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any

import pytest

from service.app.audit import note
from tests.api.contract.shapes import wrong
from tests.api.world import World, job, problem_of

EVENTS = "/v1/events"


def _note(world: World, *subjects: str, kind: str = "price_list.published") -> None:
    with world.wiring.units.writing() as uow:
        for subject in subjects:
            note(
                uow,
                shop_id=world.shop_id,
                key_id="a key",
                at=world.clock(),
                kind=kind,
                subject=kind.partition(".")[0],
                subject_id=subject,
                before=b'{"state": "draft"}',
                after=b'{"state": "published"}',
            )
        uow.commit()


def _page(world: World, query: str = "", scope: str = "reports") -> dict[str, Any]:
    answer = world.ask("GET", f"{EVENTS}{query}", scope)
    assert answer.status_code == 200
    document: dict[str, Any] = answer.get_json()
    assert wrong("EventList", document) == []
    return document


def _subjects(page: dict[str, Any]) -> list[str]:
    return [event["subject_id"] for event in page["items"]]


def test_a_new_quote_is_told(world: World) -> None:
    quote = world.post("/v1/quotes", job(), "price").get_json()
    (event,) = _page(world)["items"]
    assert event["kind"] == "quote.created"
    assert (event["subject"], event["subject_id"]) == ("quote", quote["id"])
    assert event["at"] == quote["created_at"]
    assert event["key"] == world.tokens["price"].split("_")[1]


def test_a_refused_quote_is_not(world: World) -> None:
    assert world.post("/v1/quotes", {**job(), "jobs": []}).status_code == 422
    assert _page(world)["items"] == []


def test_a_reader_goes_on_with_next_to_the_end_and_later_from_there(world: World) -> None:
    _note(world, *"abcde")
    seen, query = [], "?limit=2"
    for _ in range(10):
        answer = world.ask("GET", EVENTS + query, "reports")
        page = answer.get_json()
        seen += _subjects(page)
        assert page["more"] == ("Link" in answer.headers)
        if not page["more"]:
            break
        link = answer.headers["Link"]
        assert link.endswith('>; rel="next"')
        query = link[1:].partition(">")[0].removeprefix(EVENTS)
        assert f"cursor={page['next']}" in query
        assert "limit=2" in query
    assert seen == list("abcde")
    place = page["next"]
    assert _page(world, f"?cursor={place}") == {"items": [], "next": place, "more": False}
    _note(world, "f")
    assert _subjects(_page(world, f"?cursor={place}")) == ["f"]


def test_a_reader_may_begin_before_there_is_anything(world: World) -> None:
    place = _page(world)["next"]
    _note(world, "a")
    assert _subjects(_page(world, f"?cursor={place}")) == ["a"]


def test_filters(world: World) -> None:
    _note(world, "a", "b")
    _note(world, "a", kind="quote.accepted")
    assert _subjects(_page(world, "?kind=quote.accepted")) == ["a"]
    assert len(_page(world, "?subject_id=a")["items"]) == 2
    assert len(_page(world, "?subject_id=a&kind=quote.accepted")["items"]) == 1
    assert _page(world, "?kind=none.such")["items"] == []


def test_before_and_after_are_for_the_audit_alone(world: World) -> None:
    _note(world, "a")
    (audited,) = _page(world, scope="admin")["items"]
    assert audited["before"] == {"state": "draft"}
    assert audited["after"] == {"state": "published"}
    for scope in ("reports", "counter"):
        (event,) = _page(world, scope=scope)["items"]
        assert not {"before", "after"} & set(event)


def test_who_may_read_and_whose(world: World) -> None:
    _note(world, "a")
    for scope in ("price", "bench"):
        problem_of(world.ask("GET", EVENTS, scope), 403, "not_allowed")
    problem_of(world.ask("GET", EVENTS, None), 401, "not_known")
    assert _page(world, scope="other")["items"] == []


@pytest.mark.parametrize(
    "query",
    ["limit=0", "limit=1001", "limit=x", "cursor=", "cursor=!", "cursor=abc", "since=1",
     "kind=a%00", "limit=1&limit=2",
     "cursor=" + urlsafe_b64encode(f"{1 << 64}.1".encode()).decode().rstrip("=")],
)  # fmt: skip
def test_what_makes_no_sense_is_named(still_world: World, query: str) -> None:
    document = problem_of(
        still_world.ask("GET", f"{EVENTS}?{query}", "reports"), 400, "bad_parameter"
    )
    assert document["errors"][0]["parameter"] == query.partition("=")[0]


def test_a_long_feed_is_told_in_few_statements(world: World) -> None:
    _note(world, *(str(number) for number in range(1_500)))
    page = _page(world, "?limit=1000")
    assert (len(page["items"]), page["more"]) == (1_000, True)
    with world.statements() as seen:
        rest = _page(world, f"?limit=1000&cursor={page['next']}")
    assert (len(rest["items"]), rest["more"]) == (500, False)
    assert len(seen) <= 5


def test_a_reader_with_a_cursor_misses_no_quote_stored_meanwhile(world: World) -> None:
    client, done = world.client.application.test_client(), Event()
    headers = {"Authorization": f"Bearer {world.tokens['counter']}"}
    sent = job()

    def store(_: int) -> str:
        answer = world.client.application.test_client().post(
            "/v1/quotes", json=sent, headers=headers
        )
        assert answer.status_code == 201
        return str(answer.get_json()["id"])

    def follow() -> list[str]:
        seen: list[str] = []
        place = ""
        for _ in range(2_000):
            over = done.is_set()
            query = f"?limit=3&cursor={place}" if place else "?limit=3"
            page = client.get(EVENTS + query, headers=headers).get_json()
            seen += _subjects(page)
            place = page["next"]
            if over and not page["items"]:
                return seen
        raise AssertionError("the feed has no end")

    with ThreadPoolExecutor(5) as pool:
        reader = pool.submit(follow)
        stored = list(pool.map(store, range(24)))
        done.set()
        seen = reader.result(60)
    assert sorted(seen) == sorted(stored)
