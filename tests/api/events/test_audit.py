"""The audit over HTTP: who did it, when, what was before and what is after, for every change."""

from __future__ import annotations

import json
from typing import Any

from schemas.shop import dump_shop
from service.demo import demo_document, demo_labour_standard, demo_shop
from tests.api.materials.test_catalogue import NEW, put
from tests.api.quotes.test_steps import QUOTES, made, now, pressed
from tests.api.world import World, job, problem_of

LIST = {"code": "2027-spring", "first_day": "2026-12-01"}


def audit(world: World) -> list[dict[str, Any]]:
    """Every event, oldest first, as a key with the scope admin reads them."""
    items: list[dict[str, Any]] = []
    cursor = ""
    while True:
        page = world.ask("GET", f"/v1/events?limit=50{cursor}", "admin").get_json()
        items += page["items"]
        if not page["more"]:
            return items
        cursor = f"&cursor={page['next']}"


def noted(world: World, kind: str) -> dict[str, Any]:
    """The one event of a kind."""
    (found,) = [event for event in audit(world) if event["kind"] == kind]
    return found


def key(world: World, scope: str) -> str:
    """The public part of a key, by which the audit names it."""
    return world.tokens[scope].split("_")[1]


def act(world: World, method: str, path: str, scope: str = "admin", **more: Any) -> None:
    answer = world.ask(method, path, scope, headers={"If-Match": "*"}, **more)
    assert answer.status_code < 300, answer.get_data(as_text=True)


def test_what_is_made_changed_and_taken_away_is_noted_with_both_sides(world: World) -> None:
    world.post("/v1/mouldings", NEW, "admin")
    world.clock.move(minutes=5)
    put(world, "/v1/mouldings/MLD-NEW100", {**NEW, "colour": "grey"}, "*")
    changed = noted(world, "moulding.changed")
    assert changed["key"] == key(world, "admin")
    assert changed["at"] == "2026-11-25T15:09:05.000000Z"
    assert (changed["subject"], changed["subject_id"]) == ("moulding", "MLD-NEW100")
    assert (changed["before"]["colour"], changed["after"]["colour"]) == ("", "grey")
    made_ = noted(world, "moulding.created")
    assert made_["before"] is None
    assert made_["after"]["face_width"] == "1 in"


def test_a_publication_and_a_change_of_standards_say_what_they_changed(world: World) -> None:
    document = json.loads(json.dumps(demo_document("price_list"), default=str))
    world.post("/v1/price-lists", {**document, **LIST}, "admin")
    act(world, "POST", "/v1/price-lists/2027-spring/publish")
    published = noted(world, "price_list.published")
    assert published["before"] == {"state": "draft", "first_day": "2026-12-01"}
    assert published["after"] == {"state": "published", "first_day": "2026-12-01"}
    other = json.loads(json.dumps(demo_document("labour_standard"), default=str))
    world.post("/v1/labour-standards", {**other, "code": "bench-2027"}, "admin")
    act(world, "POST", "/v1/labour-standards/bench-2027/use")
    used = noted(world, "labour_standard.used")
    assert used["before"] == {"in_use": demo_labour_standard().code}
    assert used["after"] == {"in_use": "bench-2027"}


def test_settings_are_noted_whole(world: World) -> None:
    put(world, "/v1/shop", {**dump_shop(demo_shop()), "quote_valid_days": 14}, "*")
    event = noted(world, "shop.changed")
    assert (event["before"]["quote_valid_days"], event["after"]["quote_valid_days"]) == (30, 14)


def test_a_quote_and_its_tickets_are_followed_from_state_to_state(world: World) -> None:
    quote = made(world, "price")
    for action in ("issue", "accept"):
        assert pressed(world, quote["number"], action).status_code == 200
    (ticket,) = now(world, quote["number"])["tickets"]
    act(world, "POST", f"/v1/cut-tickets/{ticket['number']}/start", "bench")
    act(world, "POST", f"/v1/cut-tickets/{ticket['number']}/pieces/1/start", "bench")
    act(world, "POST", f"/v1/cut-tickets/{ticket['number']}/finish", "bench")
    told = [
        (
            event["kind"],
            (event["before"] or {}).get("status"),
            event["after"]["status"],
            event["key"],
        )
        for event in audit(world)
    ]
    public, counter, bench = key(world, "price"), key(world, "counter"), key(world, "bench")
    assert told == [
        ("quote.created", None, "draft", public),
        ("quote.issued", "draft", "issued", counter),
        ("quote.accepted", "issued", "accepted", counter),
        ("ticket.created", None, "waiting", counter),
        ("quote.begun", "accepted", "in_work", bench),
        ("ticket.started", "waiting", "in_work", bench),
        ("piece.started", "waiting", "in_work", bench),
        ("ticket.done", "in_work", "done", bench),
        ("quote.done", "in_work", "done", bench),
    ]
    customers = json.dumps(audit(world))
    assert "okafor" not in customers.lower()  # whose picture it is stays out of the audit


def test_what_was_refused_is_not_noted(world: World) -> None:
    before = audit(world)
    refused = put(world, "/v1/mouldings/MLD-OAK125", {**NEW, "code": "MLD-OAK125"}, '"99"')
    problem_of(refused, 412, "stale")
    problem_of(world.post("/v1/mouldings", NEW, "counter"), 403, "not_allowed")
    assert world.post(QUOTES, {**job(), "units": "pt"}).status_code == 422
    assert audit(world) == before
