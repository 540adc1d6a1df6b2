"""HTTP as RFC 9110 has it: methods, statuses, headers; and problems as RFC 9457 has them."""

from __future__ import annotations

import json
from typing import Any

import pytest

from schemas.wire.problems import KINDS, TITLES, TYPE
from service.api.application import create_app
from service.api.http.problems import STATUS, refused
from service.domain import errors
from service.settings import Settings
from service.wiring import wire
from tests.api.world import World, job, problem_of

PATHS = {
    "/v1/estimates": {"POST"},
    "/v1/estimates/sweep": {"POST"},
    "/v1/quotes": {"GET", "HEAD", "POST"},
    "/v1/quotes/Q100014": {"GET", "HEAD"},
    "/v1/quotes/Q100014/workings": {"GET", "HEAD"},
    "/healthz": {"GET", "HEAD"},
    "/readyz": {"GET", "HEAD"},
    "/openapi.json": {"GET", "HEAD"},
    "/docs": {"GET", "HEAD"},
}
OF_ONE_REQUEST = ("X-Request-Id", "RateLimit")
"""Headers that differ from one request to the next."""
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "TRACE", "BREW")


@pytest.mark.parametrize("path", PATHS)
def test_other_methods_are_405_and_told_which_there_are(still_world: World, path: str) -> None:
    for method in METHODS:
        if method in PATHS[path]:
            continue
        answer = still_world.ask(method, path)
        assert answer.status_code == 405
        assert set(answer.headers["Allow"].split(", ")) == {*PATHS[path], "OPTIONS"}
        if method != "HEAD":
            problem_of(answer, 405, "method_not_allowed")


@pytest.mark.parametrize("path", PATHS)
def test_options_lists_the_methods(still_world: World, path: str) -> None:
    answer = still_world.ask("OPTIONS", path, None)
    assert answer.status_code in (200, 204)
    assert set(answer.headers["Allow"].split(", ")) == {*PATHS[path], "OPTIONS"}
    assert answer.get_data() == b""


def test_head_is_get_without_a_body(world: World) -> None:
    number = world.post("/v1/quotes", job()).get_json()["number"]
    for path in (
        "/v1/quotes",
        f"/v1/quotes/{number}",
        f"/v1/quotes/{number}/workings",
        "/v1/quotes/Q999",
        "/openapi.json",
        "/docs",
        "/healthz",
    ):
        get, head = world.ask("GET", path), world.ask("HEAD", path)
        assert head.get_data() == b""
        seen = [[h for h in a.headers if h[0] not in OF_ONE_REQUEST] for a in (get, head)]
        assert (head.status_code, seen[1]) == (get.status_code, seen[0])


@pytest.mark.parametrize(
    "path", ["/v2", "/v1", "/v1/quote", "/v1/quotes/a/b", "/%00", "/%ff", "/x y"]
)
def test_an_address_that_is_not_there_is_a_problem_too(still_world: World, path: str) -> None:
    problem_of(still_world.ask("GET", path), 404, "not_found")


@pytest.mark.parametrize("path", [p for p in PATHS if p.startswith("/v1") or p == "/docs"])
def test_parameters_that_are_not_known_are_named(still_world: World, path: str) -> None:
    method = "POST" if "GET" not in PATHS[path] else "GET"
    body: dict[str, Any] = {"json": job()} if method == "POST" else {}
    answer = still_world.ask(method, f"{path}?pretty=1", **body)
    document = problem_of(answer, 400, "bad_parameter")
    (fault,) = document["errors"]
    assert fault["parameter"] == "pretty"
    assert (fault["pointer"], fault["code"]) == ("", "bad_parameter")
    assert "pretty" in document["detail"]


def test_a_trailing_slash_is_the_same_address(still_world: World) -> None:
    assert still_world.ask("GET", "/v1/quotes/").status_code == 200
    assert still_world.post("/v1/estimates/", job()).status_code == 200


def test_every_error_of_the_domain_has_a_status_and_a_published_type(still_world: World) -> None:
    kinds = [errors.DomainError]
    for kind in kinds:
        kinds.extend(kind.__subclasses__())
    own = [kind for kind in kinds[1:] if kind.__module__.startswith(("service.", "schemas."))]
    assert len(own) >= len(STATUS)
    with still_world.client.application.test_request_context("/"):
        for kind in own:
            assert any(base in STATUS for base in kind.__mro__), f"{kind.__name__} has no status"
            if kind.__init__ is errors.DomainError.__init__:
                answer = refused(kind("why it will not do"))
                code = json.loads(answer.get_data())["type"].removeprefix(TYPE)
                assert answer.status_code in {k.code: k.statuses for k in KINDS}[code]
                assert code in TITLES
                assert answer.content_type == "application/problem+json"


def test_a_failure_tells_nothing_of_the_inside(
    still_world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("secret detail of the inside")

    monkeypatch.setattr("service.api.estimates.views.estimate_request", fail)
    answer = still_world.post("/v1/estimates", job())
    problem_of(answer, 500, "failed")
    assert "secret" not in answer.get_data(as_text=True)
    assert "secret" in caplog.text


def test_without_a_database_everything_says_so(still_world: World) -> None:
    wiring = wire(Settings.read({"DATABASE_URL": "sqlite:////nowhere/at/all.sqlite3"}))
    client = create_app(wiring).test_client()
    headers = {"Authorization": f"Bearer {still_world.tokens['counter']}"}
    for method, path in (("POST", "/v1/estimates"), ("POST", "/v1/quotes"), ("GET", "/v1/quotes")):
        body: dict[str, Any] = {"json": job()} if method == "POST" else {}
        answer = client.open(path, method=method, headers=headers, **body)
        problem_of(answer, 503, "unavailable")
        assert int(answer.headers["Retry-After"]) >= 1
    answer = client.get("/readyz")
    problem_of(answer, 503, "not_ready")
    assert int(answer.headers["Retry-After"]) >= 1
    assert client.get("/healthz").get_json() == {"status": "ok"}
    wiring.close()
