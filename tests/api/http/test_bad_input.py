"""Bad input: every one a clear refusal with its place, nothing stored, and never a failure."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest

from tests.api.http.nonsense import NONSENSE, SWEEP_NONSENSE
from tests.api.world import World, faults_of, job, problem_of

ESTIMATE, SWEEP, QUOTES = "/v1/estimates", "/v1/estimates/sweep", "/v1/quotes"
TEXT = json.dumps(job())


@pytest.fixture(autouse=True)
def nothing_is_stored(still_world: World) -> Iterator[None]:
    before = still_world.rows()
    yield
    assert still_world.rows() == before


def _with(old: str, new: str) -> str:
    assert old in TEXT
    return TEXT.replace(old, new, 1)


DEEP = 1_000
NOT_JSON: dict[str, str | bytes] = {
    "nothing": "",
    "blank": " \n\t",
    "cut off": TEXT[:-5],
    "two documents": TEXT + TEXT,
    "a comma too many": _with('"quantity": 1,', '"quantity": 1,,'),
    "single quotes": _with('"units"', "'units'"),
    "a comment": "// hello\n" + TEXT,
    "NaN": _with('"quantity": 1', '"quantity": NaN'),
    "Infinity": _with('"quantity": 1', '"quantity": Infinity'),
    "-Infinity": _with('"quantity": 1', '"quantity": -Infinity'),
    "1e400000000000000000000": _with('"quantity": 1', '"quantity": 1e400000000000000000000'),
    "an integer of 5,000 digits": _with('"quantity": 1', '"quantity": ' + "9" * 5_000),
    "a decimal of 5,000 digits": _with('"quantity": 1', '"quantity": 0.' + "9" * 5_000),
    "a leading zero": _with('"quantity": 1', '"quantity": 01'),
    "equal names": _with('"quantity": 1', '"quantity": 1, "quantity": 2'),
    "equal names, deep": _with('"width": "16 3/8"', '"width": "16", "width": "17"'),
    "a control character in a text": _with("Harbour", "Har\x01bour"),
    "arrays 1,000 deep": _with('"quantity": 1', '"quantity": ' + "[" * DEEP + "]" * DEEP),
    "arrays 100,000 deep": "[" * 100_000 + "]" * 100_000,
    "objects 1,000 deep": _with(
        '"quantity": 1', '"quantity": ' + '{"a":' * DEEP + "1" + "}" * DEEP
    ),
    "objects 100,000 deep": '{"a":' * 100_000 + "1" + "}" * 100_000,
    "arrays 100,000 deep, not closed": "[" * 100_000,
    "not UTF-8": TEXT.encode().replace(b"Harbour", b"Harb\xff\xfeur"),
    "UTF-16": TEXT.encode("utf-16"),
    "UTF-16 without a mark": TEXT.encode("utf-16-le"),
    "a byte order mark": b"\xef\xbb\xbf" + TEXT.encode(),
    "a surrogate in UTF-8": TEXT.encode().replace(b"Harbour", b"\xed\xa0\x80"),
    "compressed": b"\x1f\x8b\x08\x00" + b"\x00" * 20,
}
DEEP_ALLOWED = {"arrays 1,000 deep", "objects 1,000 deep"}
"""JSON all the same: it may be read, and is then refused as a document."""


@pytest.mark.parametrize("path", [ESTIMATE, SWEEP, QUOTES])
@pytest.mark.parametrize("name", NOT_JSON)
def test_what_is_not_json_is_said_to_be_so(still_world: World, path: str, name: str) -> None:
    answer = still_world.post(path, NOT_JSON[name])
    if name in DEEP_ALLOWED and answer.status_code == 422:
        assert faults_of(answer)
    else:
        problem_of(answer, 400, "not_json")


def test_where_json_ends_is_told(still_world: World) -> None:
    answer = still_world.post(ESTIMATE, '{\n  "units": "in",\n  oops\n}')
    assert "line 3, column 3" in problem_of(answer, 400, "not_json")["detail"]


@pytest.mark.parametrize("kind", [None, "", "text/plain", "application/x-www-form-urlencoded", "x"])
@pytest.mark.parametrize("path", [ESTIMATE, SWEEP, QUOTES])
def test_another_content_type_is_415(still_world: World, path: str, kind: str | None) -> None:
    answer = still_world.ask("POST", path, data=TEXT, content_type=kind)
    problem_of(answer, 415, "not_json")
    assert answer.headers["Accept"] == "application/json"


@pytest.mark.parametrize("kind", ["application/json; charset=utf-8", "application/job+json"])
def test_json_by_another_name_is_read(still_world: World, kind: str) -> None:
    assert still_world.ask("POST", ESTIMATE, data=TEXT, content_type=kind).status_code == 200


@pytest.mark.parametrize("path", [ESTIMATE, SWEEP, QUOTES])
def test_a_body_of_ten_megabytes_is_413(still_world: World, path: str) -> None:
    start = time.process_time()
    answer = still_world.post(path, TEXT[:-1] + " " * 10_000_000 + "}")
    problem_of(answer, 413, "body_too_large")
    assert time.process_time() - start < 2


def test_a_body_of_the_longest_length_is_read(still_world: World) -> None:
    limit = still_world.wiring.settings.body_limit
    assert still_world.post(ESTIMATE, TEXT + " " * (limit - len(TEXT))).status_code == 200
    problem_of(
        still_world.post(ESTIMATE, TEXT + " " * (limit - len(TEXT) + 1)), 413, "body_too_large"
    )


@pytest.mark.parametrize("path", [ESTIMATE, QUOTES])
@pytest.mark.parametrize("name", NONSENSE)
def test_what_does_not_make_sense_is_named_with_its_place(
    still_world: World, path: str, name: str
) -> None:
    change, pointer = NONSENSE[name]
    document = job()
    change(document)
    found = faults_of(still_world.post(path, document))
    assert pointer in found, found


@pytest.mark.parametrize("document", [None, 1, "text", [], [job()], True, 1.5])
@pytest.mark.parametrize("path", [ESTIMATE, SWEEP, QUOTES])
def test_a_document_is_an_object(still_world: World, path: str, document: Any) -> None:
    assert "" in faults_of(still_world.post(path, json.dumps(document)))


@pytest.mark.parametrize("over", ["mouldings", "glazing"])
@pytest.mark.parametrize("name", SWEEP_NONSENSE)
def test_a_sweep_that_does_not_make_sense_is_refused(
    still_world: World, name: str, over: str
) -> None:
    change, pointer = SWEEP_NONSENSE[name]
    document = {"units": "in", "job": job()["jobs"][0], "over": over}
    if over == "mouldings" and name == "an item of another kind":
        pytest.skip("the item is of this kind")
    change(document)
    assert pointer in faults_of(still_world.post(SWEEP, document))


def test_every_fault_of_every_job_comes_at_once(still_world: World) -> None:
    document = job()
    good, slip, trade = job("six_photographs")["jobs"][0], job()["jobs"][0], job()["jobs"][0]
    slip["artwork"]["width"] = "sixteen"
    slip["mats"][1]["board"] = "BRD-0000"
    slip["frames"][0]["moulding"] = "MLD-0000"
    trade["overlap"] = "9"
    trade["gap"] = "1"
    document["jobs"] = [good, slip, trade]
    document["referense"] = "W"
    found = faults_of(still_world.post(ESTIMATE, document))
    assert {
        "/jobs/1/artwork/width",
        "/jobs/1/mats/1/board",
        "/jobs/1/frames/0/moulding",
        "/jobs/2/gap",
        "/referense",
    } <= set(found)
    assert not any(pointer.startswith("/jobs/0") for pointer in found)


def test_a_document_of_nothing_but_faults_is_refused_quickly(still_world: World) -> None:
    fields = ",".join(f'"field{at}": {at}' for at in range(40_000))
    start = time.process_time()
    document = problem_of(still_world.post(ESTIMATE, f"{{{fields}}}"), 422, "job_refused")
    assert time.process_time() - start < 3
    assert len(document["errors"]) <= 110


def test_numbers_are_read_as_decimals(still_world: World) -> None:
    document = TEXT.replace('"16 3/8"', "16.375").replace('"20"', "20.0000")
    sent = still_world.post(ESTIMATE, document).get_json()
    assert sent == still_world.post(ESTIMATE, TEXT).get_json()
