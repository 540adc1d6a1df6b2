"""The published contract: valid, complete, the copy that is kept, and true in every example."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]
from openapi_spec_validator import OpenAPIV31SpecValidator

import schemas
from schemas.keys import SCOPES
from schemas.openapi.examples import examples
from schemas.openapi.operations.bulk import NDJSON
from schemas.openapi.operations.pages import FORM
from schemas.openapi.parts import REFUSALS
from schemas.wire.problems import KINDS, TYPE
from service.api.application import create_app
from service.cli.contract import openapi_document, openapi_text
from service.settings import Settings
from service.wiring import wire
from tests.api.contract.example_runs import AGAIN, send, told
from tests.api.contract.shapes import wrong
from tests.api.world import make_world

DOCUMENT = openapi_document()
KEPT = Path(schemas.__file__).parent / "openapi.json"
METHODS = ("get", "head", "post", "put", "patch", "delete")
VARIABLE = re.compile(r"<(?:[a-z]+:)?([a-z_]+)>")


def operations() -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, item in DOCUMENT["paths"].items():
        for method in METHODS:
            if method in item:
                yield path, method, item[method]


OPERATIONS = {operation["operationId"]: (p, m, operation) for p, m, operation in operations()}


def test_the_copy_that_is_kept_is_the_document() -> None:
    assert KEPT.read_text(encoding="utf-8") == openapi_text(), (
        "the contract has changed: python -m service.cli.contract > schemas/openapi.json, "
        "and tell callers in schemas/CHANGES.md"
    )


def test_the_document_is_openapi_31() -> None:
    assert DOCUMENT["openapi"].startswith("3.1.")
    errors = [error.message for error in OpenAPIV31SpecValidator(DOCUMENT).iter_errors()]
    assert errors == []


@pytest.mark.parametrize("name", DOCUMENT["components"]["schemas"])
def test_every_shape_is_json_schema(name: str) -> None:
    shape = DOCUMENT["components"]["schemas"][name]
    Draft202012Validator.check_schema(shape)
    assert shape.get("description"), f"{name} says nothing of what it is"
    for field, inner in shape.get("properties", {}).items():
        assert inner.get("description") or "$ref" in inner, f"{name}.{field} says nothing"


def test_every_reference_leads_somewhere_and_every_shape_is_used() -> None:
    text = json.dumps(DOCUMENT)
    used = set(re.findall(r'"#/components/([a-zA-Z]+/[A-Za-z0-9_-]+)"', text))
    there = {
        f"{kind}/{name}"
        for kind, parts in DOCUMENT["components"].items()
        if kind != "securitySchemes"
        for name in parts
    }
    assert used <= there
    assert {name for name in there - used if name.startswith("schemas/")} == set()


def test_every_route_is_described_and_nothing_else() -> None:
    app = create_app(wire(Settings.read({})))
    routes = {
        (VARIABLE.sub(r"{\1}", rule.rule), method.lower())
        for rule in app.url_map.iter_rules()
        for method in rule.methods or ()
        if method not in ("HEAD", "OPTIONS")
    }
    assert routes == {(path, method) for path, method, _ in operations()}


@pytest.mark.parametrize("operation", OPERATIONS)
def test_an_operation_says_all_there_is_to_say(operation: str) -> None:
    path, method, told_of = OPERATIONS[operation]
    assert told_of["summary"]
    assert told_of["description"]
    assert told_of["tags"][0] in {tag["name"] for tag in DOCUMENT["tags"]}
    named = told_of.get("parameters", []) + DOCUMENT["paths"][path].get("parameters", [])
    places = {_resolved(part)["name"] for part in named if _resolved(part)["in"] == "path"}
    assert places == set(re.findall(r"{([a-z_]+)}", path))
    answers = told_of["responses"]
    assert "500" in answers
    assert any(status.startswith(("2", "303")) for status in answers)
    for status, answer in answers.items():
        if int(status) >= 400 and (operation, status) != ("enter_summary", "403"):
            assert answer["$ref"] == f"#/components/responses/{REFUSALS[int(status)][0]}"
    if told_of["security"]:
        assert {"401", "403", "503"} <= set(answers)
        assert {tuple(each) for each in told_of["security"]} == {("key",)}
        assert {scope for each in told_of["security"] for scope in each["key"]} <= set(SCOPES)
    if "requestBody" in told_of:
        (kind,) = told_of["requestBody"]["content"]
        judged = kind not in (NDJSON, FORM)  # a bad line spoils only itself, a page says it itself
        assert {"400", "413", "415"} | ({"422"} if judged else set()) <= set(answers)
    if method == "post" and "201" in answers:
        assert "Location" in answers["201"]["headers"]


STORE_NOTHING = {
    *("create_estimate", "create_sweep", "create_bulk_estimate", "compare_price_list"),
    *("enter_summary", "leave_summary"),  # a person in a browser, who gets a cookie
}


def test_every_post_that_stores_may_be_sent_again() -> None:
    stores = {
        operation
        for operation, (_, method, told_of) in OPERATIONS.items()
        if method == "post"
        and {"$ref": "#/components/parameters/idempotency_key"} in told_of.get("parameters", ())
    }
    posts = {operation for operation, (_, method, _) in OPERATIONS.items() if method == "post"}
    assert stores == posts - STORE_NOTHING
    for operation in stores:  # 409: the first is still at work; 422: the word names another request
        assert {"409", "422"} <= set(OPERATIONS[operation][2]["responses"])


def test_what_has_a_version_need_not_be_sent_twice() -> None:
    for operation, (_, method, told_of) in OPERATIONS.items():
        answers = told_of["responses"]
        if method == "get" and "ETag" in answers.get("200", {}).get("headers", ()):
            # how a price list stands changes with the day, and not its version
            assert ("304" in answers) == (operation != "get_price_list"), operation


def _resolved(part: dict[str, Any]) -> dict[str, Any]:
    if "$ref" not in part:
        return part
    found: Any = DOCUMENT
    for step in part["$ref"].split("/")[1:]:
        found = found[step]
    resolved: dict[str, Any] = found
    return resolved


@pytest.mark.parametrize("status", REFUSALS)
def test_every_refusal_is_a_problem_document(status: int) -> None:
    name, _, _ = REFUSALS[status]
    content = DOCUMENT["components"]["responses"][name]["content"]
    assert list(content) == ["application/problem+json"]
    assert any(status in kind.statuses for kind in KINDS)


def test_every_kind_of_problem_stands_in_the_description() -> None:
    for kind in KINDS:
        assert f"`{TYPE}{kind.code}`" in DOCUMENT["info"]["description"]


def test_operations_that_read_or_write_json_have_examples() -> None:
    shown = {example["operation"] for example in examples().values()}
    for operation, (_, _, told_of) in OPERATIONS.items():
        answers = [
            media
            for status, answer in told_of["responses"].items()
            if status.startswith("2")
            for kind, media in answer.get("content", {}).items()
            if kind == "application/json" and "$ref" in media["schema"]
        ]
        if answers:
            assert operation in shown
            assert all(media["examples"] for media in answers), operation
    assert shown <= set(OPERATIONS)


@pytest.mark.parametrize("name", examples())
def test_an_example_is_true(name: str, migrated_sqlite: Path, tmp_path: Path) -> None:
    example = examples()[name]
    shutil.copyfile(migrated_sqlite, tmp_path / "demo.sqlite3")
    world = make_world(f"sqlite:///{tmp_path / 'demo.sqlite3'}")
    answer = send(world, example)
    world.wiring.close()
    printed = {part: example[part] for part in ("status", "headers", "answer") if part in example}
    assert told(answer) == printed, AGAIN
    path, method, told_of = OPERATIONS[example["operation"]]
    asked = example["request"]
    place = re.sub(r"{[a-z_]+}", "[^/?]+", re.escape(path).replace(r"\{", "{").replace(r"\}", "}"))
    assert re.fullmatch(rf"{place}(\?.*)?", asked["path"])
    assert asked["method"].lower() == method
    assert str(example["status"]) in told_of["responses"]
    _check_shapes(example, told_of)


def _check_shapes(example: dict[str, Any], told_of: dict[str, Any]) -> None:
    answer = _resolved(told_of["responses"][str(example["status"])])
    content = answer["content"]
    if NDJSON in content:
        assert [wrong("BulkLine", line) for line in example["answer"]] == [[]] * len(
            example["answer"]
        )
        return
    media = content.get("application/json") or next(iter(content.values()))
    assert wrong(media["schema"]["$ref"].rsplit("/", 1)[1], example["answer"]) == []
    named = set(answer.get("headers", {}))
    assert set(example.get("headers", {})) <= named
    if example["status"] < 300 and "body" in example["request"]:
        (media,) = told_of["requestBody"]["content"].values()
        schema = media["schema"]["$ref"].rsplit("/", 1)[1]
        assert wrong(schema, example["request"]["body"]) == []


def test_the_served_document_is_the_kept_one() -> None:
    client = create_app(wire(Settings.read({}))).test_client()
    answer = client.get("/openapi.json")
    assert answer.content_type == "application/json"
    assert answer.get_json() == json.loads(KEPT.read_text(encoding="utf-8"))
    again = client.get("/openapi.json", headers={"If-None-Match": answer.headers["ETag"]})
    assert (again.status_code, again.get_data()) == (304, b"")
