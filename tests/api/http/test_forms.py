"""One rule for `Accept` and `Content-Encoding` (RFC 9110, 12.5.1, 12.5.3); odd addresses."""

from __future__ import annotations

import gzip
import json
import re

import pytest

from service.api.http.operation import declared
from service.cli.contract import openapi_document
from tests.api.world import World, job, problem_of

DOCUMENT = openapi_document()
TEXT = json.dumps(job())


def _offered(world: World, path: str, method: str) -> tuple[str, ...]:
    application = world.client.application
    plain = re.sub(r"\{[^}]+\}", "1", path)
    endpoint, _ = application.url_map.bind("localhost").match(plain, method=method)
    found = declared(application.view_functions[endpoint])
    assert found is not None
    return found.forms


OPERATIONS = [
    (path, method.upper(), operation)
    for path, item in DOCUMENT["paths"].items()
    for method, operation in item.items()
    if method != "parameters"
]


def test_what_is_offered_is_what_the_contract_lists(still_world: World) -> None:
    for path, method, operation in OPERATIONS:
        if "{release}" in path:
            continue
        listed = {
            form.partition(";")[0]
            for status, answer in operation["responses"].items()
            for form in answer.get("content", ())
            if status[0] == "2"
        }
        offered = _offered(still_world, path, method)
        if (method, path) != ("POST", "/summary"):  # its page is only that of a refusal
            assert {form.partition(";")[0] for form in offered} == listed, path
        if listed:
            assert "406" in operation["responses"], path


@pytest.mark.parametrize("accept", ["image/png", "application/json;q=0", "text/x"])
def test_what_no_form_suits_is_406_everywhere_and_does_nothing(
    still_world: World, accept: str
) -> None:
    before = still_world.rows()
    for path, method, operation in OPERATIONS:
        if not any("content" in a for s, a in operation["responses"].items() if s[0] == "2"):
            continue
        address = re.sub(r"\{[^}]+\}", "1", path)
        if "{release}" in path or (path == "/summary" and method == "POST"):
            continue
        answer = still_world.ask(method, address, "admin", headers={"Accept": accept})
        problem_of(answer, 406, "not_acceptable")
    assert still_world.rows() == before


@pytest.mark.parametrize(
    "accept",
    [
        None, "", "*/*", "application/*", "application/json", "application/json; charset=utf-8",
        "text/html, */*;q=0.1", "image/png, application/json;q=0.5", "application/json,",
    ],
)  # fmt: skip
def test_what_json_suits_is_answered(still_world: World, accept: str | None) -> None:
    headers = {} if accept is None else {"Accept": accept}
    answer = still_world.post("/v1/estimates", job(), headers=headers)
    assert (answer.status_code, answer.mimetype) == (200, "application/json")


def test_refusals_are_problem_documents_whatever_is_accepted(still_world: World) -> None:
    answer = still_world.ask("GET", "/v1/quotes?limit=0", headers={"Accept": "application/json"})
    problem_of(answer, 400, "bad_parameter")
    problem_of(
        still_world.ask("GET", "/nowhere", headers={"Accept": "image/png"}), 404, "not_found"
    )


@pytest.mark.parametrize("path", ["/v1/estimates", "/v1/quotes", "/v1/estimates/bulk", "/summary"])
@pytest.mark.parametrize("coding", ["gzip", "br", "deflate", "x\u00e9", "identity, gzip"])
def test_a_packed_body_is_said_to_be_so(still_world: World, path: str, coding: str) -> None:
    answer = still_world.ask(
        "POST",
        path,
        data=gzip.compress(TEXT.encode()),
        content_type="application/json",
        headers={"Content-Encoding": coding},
    )
    document = problem_of(answer, 415, "coding_not_read")
    assert "Content-Encoding" in document["detail"]
    assert answer.headers["Accept-Encoding"] == "identity"


def test_a_body_that_is_said_not_to_be_packed_is_read(still_world: World) -> None:
    answer = still_world.post("/v1/estimates", job(), headers={"Content-Encoding": "identity"})
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "path",
    ["//v1/quotes", "/v1//quotes", "/v1/quotes//", "//", "///evil.example/", "/docs//", "/form//x"],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_slashes_too_many_lead_nowhere(still_world: World, path: str, method: str) -> None:
    answer = still_world.client.open(
        method=method, environ_overrides={"PATH_INFO": path, "REQUEST_METHOD": method}
    )
    assert "Location" not in answer.headers
    if path not in ("//", "//v1/quotes"):  # what only begins with two is read as one
        problem_of(answer, 404, "not_found")
