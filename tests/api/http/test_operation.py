"""What a route declares: the same as the contract says of it, and checked in one order.

RFC 9110 asks for no order of refusals beyond 401 before what only a known caller may learn; the
order here is this service's own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from flask import Blueprint, Flask, Response

from schemas.keys import SCOPES
from service.api import estimates
from service.api.application import create_app
from service.api.http.body import Body
from service.api.http.conditional import IfMatch
from service.api.http.operation import (
    NO_VERSION,
    Call,
    OpenToAll,
    Operation,
    check_declarations,
    declared,
)
from service.cli.contract import openapi_document
from service.domain.errors import JobRefused, Stale
from service.settings import Settings
from service.wiring import wire
from tests.api.world import World, problem_of

CONTRACT = openapi_document()
WIRING = wire(Settings.read({"DATABASE_URL": "sqlite:////nowhere/at/all.sqlite3"}))
APP = create_app(WIRING)


def _routes() -> Iterator[tuple[str, Operation | OpenToAll]]:
    """Every method and address as the contract writes it, with its declaration."""
    for rule in APP.url_map.iter_rules():
        found = declared(APP.view_functions[rule.endpoint])
        assert found is not None, rule.endpoint
        path = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule)
        yield from ((f"{m.lower()} {path}", found) for m in rule.methods - {"HEAD", "OPTIONS"})


DECLARED = dict(_routes())
OPERATIONS = {
    f"{method} {path}": (operation, item.get("parameters", []) + operation.get("parameters", []))
    for path, item in CONTRACT["paths"].items()
    for method, operation in item.items()
    if method != "parameters"
}


def _parameters(route: str, place: str) -> dict[str, bool]:
    """The names of an operation's parameters in this place, and whether they are required."""
    components = CONTRACT["components"]["parameters"]
    _, given = OPERATIONS[route]
    each = [components[p["$ref"].rpartition("/")[2]] if "$ref" in p else p for p in given]
    return {p["name"]: p["required"] for p in each if p["in"] == place}


def _needs_a_body(body: Body) -> bool:
    """Whether an empty body is refused."""
    if not body.optional or body.reads is None:
        return not body.optional
    try:
        body.reads({})
    except JobRefused:
        return True
    return False


def test_every_route_is_in_the_contract_and_the_other_way_round() -> None:
    assert sorted(DECLARED) == sorted(OPERATIONS)


@pytest.mark.parametrize("route", DECLARED)
def test_a_route_takes_what_the_contract_says(route: str) -> None:
    found, (operation, _) = DECLARED[route], OPERATIONS[route]
    headers = _parameters(route, "header")
    assert set(_parameters(route, "query")) == set(found.parameters or ())
    assert not any(_parameters(route, "query").values())
    if isinstance(found, OpenToAll):
        assert not operation.get("security")
        assert not headers
        return
    assert sorted(n["key"] for n in operation["security"]) == sorted([s] for s in found.scopes)
    told = operation.get("summary", "") + operation.get("description", "")
    assert set(re.findall(r"scope `(\w+)`", told)) <= {*found.scopes, "admin"}
    assert headers == {
        **({"If-Match": True} if found.if_match else {}),
        **({"Idempotency-Key": False} if found.once else {}),
    }


@pytest.mark.parametrize("route", DECLARED)
def test_a_route_takes_the_body_that_the_contract_says(route: str) -> None:
    found, said = DECLARED[route], OPERATIONS[route][0].get("requestBody")
    if isinstance(found, OpenToAll):
        assert (said is not None) == (route == "post /summary")
        return
    if found.body is None:
        assert said is None
        return
    ((media, shape),) = said["content"].items()
    schema = shape.get("x-line-schema", shape["schema"])
    assert (media, schema["$ref"]) == (
        found.body.media,
        f"#/components/schemas/{found.body.name}",
    )
    assert said.get("required", False) == _needs_a_body(found.body)


def test_only_changes_are_stored_once_or_name_a_version() -> None:
    for route, found in DECLARED.items():
        if isinstance(found, Operation):
            assert not found.once or route.startswith("post ")
            assert not found.if_match or not route.startswith("get ")
            assert set(found.scopes) <= set(SCOPES)
        else:
            assert len(found.why.split()) > 1


def _application(path: str, view: Any) -> Flask:
    app = Flask("spare", static_folder=None)
    app.add_url_rule(path, view_func=view)
    return app


def _bare() -> Response:
    return Response()


def _keyed(_: Call) -> Response:
    return Response()


def test_an_application_does_not_start_with_a_route_that_is_not_declared() -> None:
    with pytest.raises(TypeError, match="does not declare"):
        check_declarations(_application("/v1/spare", _bare))
    with pytest.raises(TypeError, match="under /v1/"):
        check_declarations(_application("/v1/spare", OpenToAll("for a test")(_bare)))
    with pytest.raises(TypeError, match="under /v1/"):
        check_declarations(_application("/spare", Operation(scopes=("price",))(_keyed)))
    with pytest.raises(TypeError, match="under /v1/"):
        check_declarations(_application("/v1/spare", Operation(scopes=())(_keyed)))
    check_declarations(_application("/v1/spare", Operation(scopes=("price",))(_keyed)))


def test_create_app_refuses_a_view_that_is_not_declared(monkeypatch: pytest.MonkeyPatch) -> None:
    spare = Blueprint("estimates", __name__)
    spare.add_url_rule("/v1/spare", view_func=_bare)
    monkeypatch.setattr(estimates.views, "bp", spare)
    with pytest.raises(TypeError, match=r"estimates\._bare does not declare"):
        create_app(WIRING)


def test_a_view_that_takes_no_version_has_seen_none() -> None:
    for version in (0, 1, 2):
        with pytest.raises(Stale):
            NO_VERSION.check(version)
    assert isinstance(NO_VERSION, IfMatch)


def test_refusals_come_in_one_order(still_world: World) -> None:
    """The key, its scopes, the parameters, If-Match, the body; each step mends one more fault."""
    junk = {"data": b"{", "content_type": "application/json"}
    known = {"If-Match": "*"}
    for method, path in (("PUT", "/v1/shop"), ("POST", "/v1/quotes/1/issue")):
        ask = still_world.ask
        problem_of(ask(method, f"{path}?no=1", None, **junk), 401, "not_known")
        problem_of(ask(method, f"{path}?no=1", "price", **junk), 403, "not_allowed")
        problem_of(ask(method, f"{path}?no=1", "admin", **junk), 400, "bad_parameter")
        problem_of(ask(method, path, "admin", **junk), 428, "precondition_required")
        problem_of(ask(method, path, "admin", headers=known, **junk), 400, "not_json")


def test_a_parameter_is_given_once(still_world: World) -> None:
    asked = still_world.ask("GET", "/v1/quotes/1?paper=a4&paper=letter")
    (fault,) = problem_of(asked, 400, "bad_parameter")["errors"]
    assert fault["parameter"] == "paper"
