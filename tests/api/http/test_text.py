"""Text that hides or reorders is refused wherever it enters, by its place; see domain/test_text."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import quote

import pytest

from schemas.openapi.examples import examples
from tests.api.world import World, faults_of, job, problem_of

DECEPTIVE = ("\u202e", "\u200b", "\u2028", "\x85", "\ufdd0", "\u2066", "\ufeff", "\u00ad")
PERSIAN = "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645"
HIDDEN = quote("a\u202eb")
TEXTS = {
    "create_board": ("code", "description", "group"),
    "create_key": ("name",),
    "create_webhook": ("description",),
    "create_price_list": ("code",),
    "create_labour_standard": ("code",),
    "change_shop": ("name", "town"),
    "offcut_added": ("place",),
}
"""Fields of words in the documents that shops send, by published example."""


@pytest.mark.parametrize("hidden", DECEPTIVE)
def test_a_job_document_with_it_is_refused_by_place(still_world: World, hidden: str) -> None:
    document = job()
    document["jobs"][0]["label"] = f"Harbour{hidden}etching"
    document["reference"] = f"W{hidden}1"
    document["customer"] = {"name": f"M. {hidden}Okafor", "note": f"rings\nat{hidden}noon"}
    for path in ("/v1/estimates", "/v1/quotes"):
        answer = still_world.post(path, document)
        assert set(faults_of(answer)) == {
            "/jobs/0/label", "/reference", "/customer/name", "/customer/note"
        }  # fmt: skip
        told = {f["pointer"]: f["detail"] for f in answer.get_json()["errors"]}
        assert f"character 8 is U+{ord(hidden):04X}" in told["/jobs/0/label"]
        assert hidden not in "".join(told.values())


def test_a_persian_label_is_kept_as_it_is(world: World) -> None:
    document = job()
    document["jobs"][0]["label"] = PERSIAN
    stored = world.post("/v1/quotes", document)
    assert stored.status_code == 201
    assert stored.get_json()["jobs"][0]["label"] == PERSIAN


@pytest.mark.parametrize(("name", "field"), [(n, f) for n, many in TEXTS.items() for f in many])
def test_a_shop_s_documents_with_it_are_refused(still_world: World, name: str, field: str) -> None:
    asked = examples()[name]["request"]
    body = {**asked["body"], field: "a\u202eb"}
    headers = {"If-Match": "*"} if asked["method"] == "PUT" else {}
    answer = still_world.ask(asked["method"], asked["path"], "admin", json=body, headers=headers)
    assert f"/{field}" in faults_of(answer)


@pytest.mark.parametrize(
    "asked",
    [
        "/v1/quotes?reference=", "/v1/boards?q=", "/v1/boards?group=", "/v1/events?kind=",
        "/v1/offcuts?item=", "/v1/cut-tickets?quote=", "/v1/quotes?status=", "/v1/quotes?limit=",
        "/v1/reports/sales?from=",
    ],
)  # fmt: skip
def test_a_parameter_with_it_is_refused_by_name(still_world: World, asked: str) -> None:
    answer = still_world.ask("GET", asked + HIDDEN, "admin")
    document = problem_of(answer, 400, "bad_parameter")
    assert document["errors"][0]["parameter"] == asked.partition("?")[2].rstrip("=")
    assert "U+202E" in document["detail"]
    assert "\u202e" not in answer.get_data(as_text=True)


def test_a_choice_with_it_is_refused_by_name(still_world: World) -> None:
    headers = {"If-Match": "*"}
    answer = still_world.post(f"/v1/quotes/Q1/revisions?choice={HIDDEN}", {}, headers=headers)
    problem_of(answer, 400, "bad_parameter")


def test_what_is_quoted_back_shows_it_by_name(still_world: World) -> None:
    document = job()
    document["jobs"][0]["presentation"] = "over\u202elap"
    document["jobs"][0]["mats"][0]["board"] = "BRD\u200b-1204"
    document["w\u202eidth"] = 1
    answer = still_world.post("/v1/estimates", document)
    for fault in answer.get_json()["errors"]:
        assert not {"\u202e", "\u200b"} & set(fault["detail"])
    asked = still_world.ask("GET", f"/v1/quotes?{HIDDEN}=1")
    assert "\u202e" not in problem_of(asked, 400, "bad_parameter")["detail"]


def test_a_quote_of_before_is_still_explained_and_cut(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What an earlier release took stays readable: the quote keeps every figure that it rests on.
    document: Any = job()
    document["jobs"][0]["label"] = "Harbour \u200betching"
    with monkeypatch.context() as earlier:
        earlier.setattr("schemas.wire.fields.hidden_in", lambda *_, **__: None)
        number = world.post("/v1/quotes", json.dumps(document)).get_json()["number"]
    assert world.ask("GET", f"/v1/quotes/{number}/workings").status_code == 200
    taken = world.post(f"/v1/quotes/{number}/accept", {}, headers={"If-Match": "*"})
    assert taken.status_code == 200, taken.get_json()
    (ticket,) = taken.get_json()["tickets"]
    paper = {"Accept": "application/pdf"}
    shown = world.ask("GET", f"/v1/cut-tickets/{ticket['number']}", "bench", headers=paper)
    assert shown.data.startswith(b"%PDF-")
