"""Who may do what: keys, scopes, shops, and costs that are for the shop alone."""

from __future__ import annotations

import re

import pytest

from service.api.pages.docs import ASSETS
from service.app.keys.access import create_key
from service.domain.quotes.numbers import quote_number
from tests.api.world import World, job, problem_of

ESTIMATE, SWEEP, QUOTES = "/v1/estimates", "/v1/estimates/sweep", "/v1/quotes"
ALLOWED = {
    ("POST", ESTIMATE): {"price", "counter", "admin"},
    ("POST", SWEEP): {"price", "counter", "admin"},
    ("POST", QUOTES): {"price", "counter", "admin"},
    ("GET", QUOTES): {"counter", "reports", "admin"},
    ("GET", f"{QUOTES}/{{id}}"): {"counter", "reports", "admin"},
    ("GET", f"{QUOTES}/{{id}}/workings"): {"counter", "reports", "admin"},
}
"""The scopes of the wire contract, by operation."""
SECRETS = re.compile(r"cost|margin|markup", re.IGNORECASE)


def _body(path: str) -> dict[str, object] | None:
    document = job()
    if path == SWEEP:
        return {"units": "in", "job": document["jobs"][0], "over": "glazing"}
    return document if path in (ESTIMATE, QUOTES) else None


def _quote(world: World, scope: str = "counter") -> str:
    return str(world.post(QUOTES, job(), scope).get_json()["id"])


@pytest.mark.parametrize(("method", "path"), ALLOWED)
def test_each_scope_may_do_its_own_and_nothing_else(world: World, method: str, path: str) -> None:
    quote = _quote(world)
    for scope in ("price", "counter", "bench", "reports", "admin"):
        body = {"json": _body(path)} if method == "POST" else {}
        answer = world.ask(method, path.format(id=quote), scope, **body)
        if scope in ALLOWED[method, path]:
            assert answer.status_code in (200, 201), (scope, answer.get_json())
        else:
            assert scope not in problem_of(answer, 403, "not_allowed")["detail"].split("scope")[1]


@pytest.mark.parametrize(("method", "path"), ALLOWED)
def test_no_key_and_no_good_key_get_the_same_answer(world: World, method: str, path: str) -> None:
    place = path.format(id=_quote(world))
    token = world.tokens["counter"]
    answers = []
    for sent in (
        None,
        "",
        "Bearer",
        "Bearer ",
        f"Basic {token}",
        token,
        f"Bearer {token[:-1]}x",
        "Bearer fq_0000000000000000_" + "a" * 43,
        "Bearer " + "a" * 5_000,
        "Bearer fq_ü_é",
    ):
        body = {"json": _body(path)} if method == "POST" else {}
        headers = {} if sent is None else {"Authorization": sent}
        answer = world.ask(method, place, None, headers=headers, **body)
        problem_of(answer, 401, "not_known")
        assert answer.headers["WWW-Authenticate"] == "Bearer"
        answers.append(answer.get_data())
    assert len(set(answers)) == 1


def test_the_word_bearer_is_read_in_any_case(still_world: World) -> None:
    headers = {"Authorization": f"bEARER  {still_world.tokens['price']} "}
    assert still_world.ask("POST", ESTIMATE, None, headers=headers, json=job()).status_code == 200


def test_a_key_ends_when_it_says_even_for_an_estimate(world: World) -> None:
    assert world.post(ESTIMATE, job(), "short").status_code == 200
    assert world.ask("GET", QUOTES, "short").status_code == 200
    world.clock.move(hours=1)
    problem_of(world.post(ESTIMATE, job(), "short"), 401, "not_known")
    problem_of(world.ask("GET", QUOTES, "short"), 401, "not_known")


def test_a_revoked_key_stores_nothing_and_estimates_for_a_moment_at_most(world: World) -> None:
    with world.wiring.units.writing() as uow:
        made = create_key(uow, world.shop_id, "lost", ["counter"], world.clock())
        uow.commit()
    world.tokens["lost"] = made.token
    assert world.post(ESTIMATE, job(), "lost").status_code == 200
    with world.wiring.units.writing() as uow:
        uow.keys.revoke(world.shop_id, made.record.id, world.clock())
        uow.commit()
    problem_of(world.post(QUOTES, job(), "lost"), 401, "not_known")
    world.clock.move(seconds=world.wiring.settings.key_ttl_seconds)
    problem_of(world.post(ESTIMATE, job(), "lost"), 401, "not_known")
    assert world.rows()["quotes"] == 0


def test_another_shops_quote_does_not_exist(world: World) -> None:
    quote = world.post(QUOTES, job()).get_json()
    absent = {"id": "00000000-0000-7000-8000-000000000000", "number": quote_number(10_002)}
    for name in ("id", "number"):
        for rest in ("", "/workings"):
            place = f"{QUOTES}/{quote[name]}{rest}"
            assert world.ask("GET", place).status_code == 200
            nobodys = world.ask("GET", f"{QUOTES}/{absent[name]}{rest}", "other")
            problem_of(nobodys, 404, "not_found")
            assert world.ask("GET", place, "other").get_data() == nobodys.get_data()
    assert world.ask("GET", QUOTES, "other").get_json()["items"] == []


def test_costs_and_margins_are_for_the_shop_alone(world: World) -> None:
    for scope in ("price", "bench"):
        for path in (ESTIMATE, SWEEP, QUOTES):
            answer = world.post(path, _body(path), scope)
            assert not SECRETS.search(answer.get_data(as_text=True)), (scope, path)
            bad = job()
            bad["jobs"][0]["frames"][0]["moulding"] = "MLD-NONE"
            bad["jobs"][0]["overlap"] = "-1"
            body = {**(_body(SWEEP) or {}), "items": ["no"]} if path == SWEEP else bad
            answer = world.post(path, body, scope)
            assert answer.status_code in (403, 422)
            assert not SECRETS.search(answer.get_data(as_text=True)), (scope, path)


@pytest.mark.parametrize("scope", ["counter", "reports", "admin"])
def test_the_shops_own_keys_see_what_it_earns(world: World, scope: str) -> None:
    quote = world.ask("GET", f"{QUOTES}/{_quote(world, 'price')}", scope).get_json()
    assert float(quote["costs"]["cost"]) > 0
    assert {"cost", "margin", "markup"} <= set(quote["costs"]["jobs"][0])
    workings = world.ask("GET", f"{QUOTES}/{quote['id']}/workings", scope).get_json()["workings"]
    assert any("/costs/" in working["figure"] for working in workings)


def test_a_public_form_leaves_a_draft_and_the_counter_issues(world: World) -> None:
    assert world.post(QUOTES, job(), "price").get_json()["status"] == "draft"
    assert world.post(QUOTES, job(), "counter").get_json()["status"] == "issued"


def test_what_is_public_needs_no_key(still_world: World) -> None:
    for path in ("/healthz", "/readyz", "/openapi.json", "/docs"):
        assert still_world.ask("GET", path, None).status_code == 200
    html = still_world.ask("GET", "/docs", None).get_data(as_text=True)
    for name in ASSETS:
        place = re.search(rf'"(/docs/assets/[0-9a-f]+/{re.escape(name)})"', html)
        assert place is not None
        assert still_world.ask("GET", place[1], None).status_code == 200
