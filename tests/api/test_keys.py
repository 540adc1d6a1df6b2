"""`/v1/keys`: made, shown, changed, rotated, revoked; and what a published key can never read."""

from __future__ import annotations

import re
from typing import Any

import pytest

from service.api.application import create_app
from service.cli.contract import openapi_document
from service.wiring import wire
from tests.api.contract.shapes import wrong
from tests.api.demo_copies import START
from tests.api.world import World, job, problem_of

KEYS = "/v1/keys"
WANTED = {"name": "till", "scopes": ["counter"]}


def _make(world: World, scope: str = "admin", **wanted: Any) -> dict[str, Any]:
    made = world.post(KEYS, {**WANTED, **wanted}, scope)
    assert made.status_code == 201, made.get_json()
    document: dict[str, Any] = made.get_json()
    assert wrong("KeyIssued", document) == []
    assert made.headers["Cache-Control"] == "no-store"
    assert made.headers["Location"] == f"{KEYS}/{document['id']}"
    world.tokens[document["id"]] = document["token"]
    return document


def _events(world: World, **wanted: str) -> list[dict[str, Any]]:
    query = "&".join(f"{name}={text}" for name, text in wanted.items())
    events: list[dict[str, Any]] = world.ask("GET", f"/v1/events?{query}", "admin").get_json()[
        "items"
    ]
    return events


def test_a_key_that_was_made_works_and_shows_its_token_once(world: World) -> None:
    made = _make(world)
    assert world.ask("GET", "/v1/quotes", made["id"]).status_code == 200
    problem_of(world.ask("GET", KEYS, made["id"]), 403, "not_allowed")
    shown = world.ask("GET", f"{KEYS}/{made['id']}", "admin")
    assert wrong("Key", shown.get_json()) == []
    secret = made["token"].split("_", 2)[2]
    listed = world.ask("GET", KEYS, "admin")
    assert wrong("KeyList", listed.get_json()) == []
    events = world.ask("GET", "/v1/events", "admin")
    for answer in (shown, listed, events):
        assert secret not in answer.get_data(as_text=True)


def test_a_repeated_request_shows_the_same_token_and_the_database_never_has_it(
    world: World,
) -> None:
    headers = {"Idempotency-Key": "a"}
    first = world.post(KEYS, WANTED, "admin", headers=headers)
    again = world.post(KEYS, WANTED, "admin", headers=headers)
    assert first.status_code == 201
    assert first.get_data() == again.get_data()
    secret = first.get_json()["token"].split("_", 2)[2]
    with world.wiring.engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT * FROM idempotent_requests").all()
    assert len(rows) == 1
    assert secret not in str(rows)
    assert first.get_json()["name"] in str(rows)


def test_every_step_is_noted_with_who_and_what(world: World) -> None:
    made = _make(world, origins=["https://a.example"], scopes=["price"])
    key = made["id"]
    change = {"origins": ["https://b.example"]}
    world.ask("PATCH", f"{KEYS}/{key}", "admin", json=change, headers={"If-Match": '"1"'})
    world.ask("DELETE", f"{KEYS}/{key}", "admin")
    created, changed, revoked = _events(world, subject_id=key)
    assert [e["kind"] for e in (created, changed, revoked)] == [
        "key.created",
        "key.changed",
        "key.revoked",
    ]
    admin = world.tokens["admin"].split("_")[1]
    assert {e["key"] for e in (created, changed, revoked)} == {admin}
    assert created["before"] is None
    assert changed["before"]["origins"] == ["https://a.example"]
    assert changed["after"]["origins"] == ["https://b.example"]
    assert revoked["after"]["revoked_at"] is not None


def test_last_use_is_told_to_an_hour(world: World) -> None:
    made = _make(world)
    place = f"{KEYS}/{made['id']}"
    assert world.ask("GET", place, "admin").get_json()["last_used_at"] is None
    world.ask("GET", "/v1/quotes", made["id"])
    first = world.ask("GET", place, "admin").get_json()["last_used_at"]
    assert first == "2026-11-25T15:04:05.000000Z"
    world.clock.move(minutes=59)
    world.ask("GET", "/v1/quotes", made["id"])
    assert world.ask("GET", place, "admin").get_json()["last_used_at"] == first
    world.clock.move(minutes=1)
    world.ask("GET", "/v1/quotes", made["id"])
    assert world.ask("GET", place, "admin").get_json()["last_used_at"] > first


def test_a_change_needs_the_version_that_was_seen(world: World) -> None:
    place = f"{KEYS}/{_make(world)['id']}"
    tag = world.ask("GET", place, "admin").headers["ETag"]
    seen = {"If-Match": tag}
    assert world.ask("GET", place, "admin", headers={"If-None-Match": tag}).status_code == 304
    problem_of(world.ask("PATCH", place, "admin", json={"name": "x"}), 428, "precondition_required")
    changed = world.ask("PATCH", place, "admin", json={"name": "x", "per_minute": 7}, headers=seen)
    assert changed.status_code == 200
    assert wrong("Key", changed.get_json()) == []
    assert (changed.get_json()["name"], changed.get_json()["per_minute"]) == ("x", 7)
    problem_of(world.ask("PATCH", place, "admin", json={"name": "y"}, headers=seen), 412, "stale")
    now = {"If-Match": changed.headers["ETag"]}
    back = world.ask("PATCH", place, "admin", json={"per_minute": None}, headers=now)
    assert (back.get_json()["name"], back.get_json()["per_minute"]) == ("x", None)


def test_a_key_ends_when_it_is_told_to(world: World) -> None:
    made = _make(world, expires_at="2026-11-25T16:00:00+00:30")
    assert made["expires_at"] == "2026-11-25T15:30:00.000000Z"
    world.clock.move(minutes=30)
    problem_of(world.ask("GET", "/v1/quotes", made["id"]), 401, "not_known")
    assert world.ask("GET", f"{KEYS}/{made['id']}", "admin").get_json()["status"] == "expired"


def test_rotation_lets_both_count_for_a_while(world: World) -> None:
    old = _make(world, scopes=["price", "bench"], per_minute=50)
    place = f"{KEYS}/{old['id']}/rotate"
    rotated = world.post(place, {"overlap_seconds": 600}, "admin")
    assert rotated.status_code == 201
    new = rotated.get_json()
    assert wrong("KeyIssued", new) == []
    assert new["id"] != old["id"]
    for name in ("name", "scopes", "origins", "per_minute", "expires_at"):
        assert new[name] == old[name]
    world.tokens["new"] = new["token"]
    for key in (old["id"], "new"):
        assert world.post("/v1/estimates", job(), key).status_code == 200
    world.clock.move(seconds=600)
    problem_of(world.post("/v1/estimates", job(), old["id"]), 401, "not_known")
    assert world.post("/v1/estimates", job(), "new").status_code == 200
    assert [e["kind"] for e in _events(world, subject_id=old["id"])][-1] == "key.rotated"
    problem_of(world.post(place, {}, "admin"), 409, "conflict")


def test_rotation_without_a_body_overlaps_a_day_and_never_lengthens_a_life(world: World) -> None:
    short = _make(world, expires_at="2026-11-25T16:04:05Z")
    new = world.ask("POST", f"{KEYS}/{short['id']}/rotate", "admin").get_json()
    assert new["expires_at"] == "2026-11-25T16:04:05.000000Z"
    shown = world.ask("GET", f"{KEYS}/{short['id']}", "admin").get_json()
    assert shown["expires_at"] == short["expires_at"]
    endless = _make(world)
    world.ask("POST", f"{KEYS}/{endless['id']}/rotate", "admin")
    shown = world.ask("GET", f"{KEYS}/{endless['id']}", "admin").get_json()
    assert shown["expires_at"] == "2026-11-26T15:04:05.000000Z"


def test_a_revoked_key_is_out_at_once_and_for_good(world: World) -> None:
    place = f"{KEYS}/{(made := _make(world))['id']}"
    assert world.ask("DELETE", place, "admin").status_code == 204
    problem_of(world.ask("GET", "/v1/quotes", made["id"]), 401, "not_known")
    assert world.ask("DELETE", place, "admin").status_code == 204
    shown = world.ask("GET", place, "admin")
    assert shown.get_json()["status"] == "revoked"
    tag = {"If-Match": shown.headers["ETag"]}
    problem_of(world.ask("PATCH", place, "admin", json={"name": "x"}, headers=tag), 409, "conflict")
    assert len(_events(world, subject_id=made["id"], kind="key.revoked")) == 1


def test_only_admin_keeps_keys_and_only_its_shops(world: World) -> None:
    key = _make(world)["id"]
    for scope in ("price", "counter", "bench", "reports"):
        for method, path in (("GET", KEYS), ("POST", KEYS), ("DELETE", f"{KEYS}/{key}")):
            body = {"json": WANTED} if method == "POST" else {}
            problem_of(world.ask(method, path, scope, **body), 403, "not_allowed")
    others = world.tokens["other"].split("_")[1]
    for method, path in (
        ("GET", f"{KEYS}/{others}"),
        ("DELETE", f"{KEYS}/{others}"),
        ("POST", f"{KEYS}/{others}/rotate"),
        ("GET", f"{KEYS}/%00"),
        ("GET", f"{KEYS}/none"),
    ):
        problem_of(world.ask(method, path, "admin"), 404, "not_found")
    assert world.ask("GET", "/v1/quotes", "other").status_code == 200


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"scopes": []}, "/scopes"),
        ({"scopes": ["root"]}, "/scopes/0"),
        ({"name": ""}, "/name"),
        ({"origins": ["https://a.example/path"]}, "/origins/0"),
        ({"origins": ["*"]}, "/origins"),
        ({"origins": ["*"], "scopes": ["price", "counter"]}, "/origins"),
        ({"per_minute": 0}, "/per_minute"),
        ({"expires_at": "2026-11-25T15:04:05Z"}, "/expires_at"),
        ({"expires_at": "2026-11-25"}, "/expires_at"),
        ({"secret": "mine"}, "/secret"),
    ],
)
def test_a_key_that_makes_no_sense_is_refused(
    world: World, changes: dict[str, Any], pointer: str
) -> None:
    before = world.rows()
    document = problem_of(world.post(KEYS, {**WANTED, **changes}, "admin"), 422, "job_refused")
    assert [fault["pointer"] for fault in document["errors"]] == [pointer]
    assert world.rows() == before


def test_an_overlap_has_bounds(world: World) -> None:
    place = f"{KEYS}/{_make(world)['id']}/rotate"
    for seconds in (-1, 31 * 24 * 3600, "600"):
        assert world.post(place, {"overlap_seconds": seconds}, "admin").status_code == 422


def test_changes_are_seen_by_every_node_within_a_moment(world: World) -> None:
    made = _make(world, scopes=["price"], origins=["https://a.example"])
    wired = wire(world.wiring.settings, world.clock, monotonic=world.clock.monotonic)
    client = create_app(wired).test_client()
    headers = {"Authorization": f"Bearer {made['token']}", "Origin": "https://a.example"}
    assert client.post("/v1/estimates", json=job(), headers=headers).status_code == 200
    place = f"{KEYS}/{made['id']}"
    world.ask("PATCH", place, "admin", json={"origins": []}, headers={"If-Match": '"1"'})
    world.clock.move(seconds=world.wiring.settings.key_ttl_seconds)
    refused = client.post("/v1/estimates", json=job(), headers=headers)
    problem_of(refused, 403, "origin_not_allowed")
    wired.close()


CUSTOMER = {"name": "Mx Unmistakable", "email": "unmistakable@example.com"}
SECRETS = re.compile(r"cost|margin|markup|unmistakable", re.IGNORECASE)


def test_a_published_key_reads_no_customers_and_no_costs_anywhere(world: World) -> None:
    """Every operation of the contract is tried, so that one added later is tried too."""
    quote = world.post("/v1/quotes", {**job(), "customer": CUSTOMER}).get_json()
    world.post(KEYS, {"name": "form", "scopes": ["price"], "origins": ["*"]}, "admin")
    names = {
        "quote_id": quote["id"],
        "item": "0",
        "use": "0",
        "revision": "1",
        "code": "MLD-OAK125",
        "key": "0" * 16,
        "piece": "1",
    }
    for path, item in openapi_document()["paths"].items():
        for method in ("get", "post", "put", "patch", "delete"):
            if method not in item or not path.startswith("/v1/"):
                continue
            filled = re.sub(r"{([a-z_]+)}", lambda m: names.get(m[1], quote["id"]), path)
            body: dict[str, Any] = {}
            if method in ("post", "put", "patch"):
                body = {"json": job() if "sweep" not in path else _sweep()}
            answer = world.ask(method.upper(), filled, "price", headers={"If-Match": '"1"'}, **body)
            text = answer.get_data(as_text=True)
            allowed = {s for each in item[method]["security"] for s in each.get("key", ())}
            if "price" in allowed:
                assert not SECRETS.search(text), (method, path)
            else:
                assert answer.status_code == 403, (method, path)
                assert "unmistakable" not in text.lower(), (method, path)


def _sweep() -> dict[str, Any]:
    return {"units": "in", "job": job()["jobs"][0], "over": "glazing"}


def test_the_first_key_is_as_old_as_the_shop(world: World) -> None:
    listed = world.ask("GET", KEYS, "admin").get_json()["items"]
    assert len(listed) == len(world.tokens) - 1  # but for that of the other shop
    assert {key["created_at"] for key in listed} == {START.strftime("%Y-%m-%dT%H:%M:%S.%fZ")}
