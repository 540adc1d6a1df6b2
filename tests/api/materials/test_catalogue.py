"""The catalogue over HTTP: its life, its lists, its costs, and who may see them."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

import pytest
from sqlalchemy import select
from werkzeug.test import TestResponse

from schemas.materials.catalogue import PLACES
from service.demo import demo_items
from service.persistence.events.tables import events
from tests.api.demo_copies import START
from tests.api.world import World, faults_of, job, problem_of

OAK = "/v1/mouldings/MLD-OAK125"
COSTS = "/v1/costs/MLD-OAK125"
NEW = {
    "code": "MLD-NEW100",
    "description": "Larch 1, limed (invented)",
    "group": "painted",
    "face_width": "1",
    "rabbet_width": "1/4",
    "rabbet_depth": "12 mm",
    "stick_lengths": ["10 ft", 120],
    "weight_kg_per_m": "0.4",
}
OTHERS: dict[str, dict[str, Any]] = {
    "boards": {"thickness": "1/16", "sheets": ["32 x 40"], "weight_kg_per_m2": "0.9"},
    "glazing": {"material": "glass", "thickness": "2 mm", "sheets": ["32 x 40"]},
    "fillets": {
        "width": "1/4",
        "depth": "1/8",
        "stick_lengths": [60],
        "weight_kg_per_m": "0.05",
    },
    "hardware": {"role": "hook", "rating_kg": "9"},
    "supplies": {"thickness": "0.1 mm"},
}


def read(answer: TestResponse, status: int = 200) -> dict[str, Any]:
    assert answer.status_code == status, answer.get_data(as_text=True)
    document: dict[str, Any] = json.loads(answer.get_data())
    return document


def put(world: World, path: str, document: Any, tag: str | None, scope: str = "admin") -> Any:
    headers = {} if tag is None else {"If-Match": tag}
    return world.ask("PUT", path, scope, json=document, headers=headers)


def test_an_item_is_made_read_changed_and_taken_off_sale(world: World) -> None:
    made = world.post("/v1/mouldings", NEW, "admin")
    shown = read(made, 201)
    assert made.headers["Location"] == "/v1/mouldings/MLD-NEW100"
    assert made.headers["ETag"] == '"1"'
    assert shown["face_width"] == {"in": "1", "mm": "25.4", "shop": "1"}
    assert shown["rabbet_depth"]["mm"] == "12"
    assert shown["kind"] == "moulding"
    assert shown["discontinued"] is False
    assert shown["updated_at"] == START.isoformat(timespec="microseconds").replace("+00:00", "Z")
    assert read(world.ask("GET", made.headers["Location"], "price")) == shown

    world.clock.move(minutes=5)
    shown["description"] = "Larch 1, waxed (invented)"
    changed = put(world, "/v1/mouldings/MLD-NEW100", shown, '"1"')  # an answer, sent back
    assert changed.headers["ETag"] == '"2"'
    assert read(changed)["face_width"] == shown["face_width"]
    assert read(changed)["updated_at"] > shown["updated_at"]

    gone = world.ask(
        "POST", "/v1/mouldings/MLD-NEW100/discontinue", "admin", headers={"If-Match": '"2"'}
    )
    assert read(gone)["discontinued"] is True
    world.clock.move(minutes=1)  # estimates may rest on a book of some seconds ago
    document = job()
    document["jobs"][0]["frames"][0]["moulding"] = "MLD-NEW100"
    assert "/jobs/0/frames/0/moulding" in faults_of(world.post("/v1/estimates", document))
    back = world.ask(
        "POST", "/v1/mouldings/MLD-NEW100/reinstate", "admin", headers={"If-Match": '"3"'}
    )
    assert read(back)["discontinued"] is False


def test_every_change_is_noted_with_what_was_and_what_is(world: World) -> None:
    world.post("/v1/mouldings", NEW, "admin")
    put(world, "/v1/mouldings/MLD-NEW100", NEW | {"colour": "grey"}, '"1"')
    tag = {"If-Match": '"2"'}
    world.ask("POST", "/v1/mouldings/MLD-NEW100/discontinue", "admin", headers=tag)
    put(world, COSTS, {"costs": [{"basis": "linear_foot", "cost": "3"}]}, "*")
    with world.wiring.engine.connect() as connection:
        rows = connection.execute(select(events).order_by(events.c.id)).all()
    mine = [row for row in rows if row.subject_id in ("MLD-NEW100", "MLD-OAK125")]
    assert [row.kind for row in mine] == [
        "moulding.created",
        "moulding.changed",
        "moulding.discontinued",
        "costs.changed",
    ]
    assert mine[0].before is None
    for earlier, later in pairwise(mine[:3]):
        assert later.before == earlier.after
    assert json.loads(mine[1].after)["colour"] == "grey"
    assert json.loads(mine[3].before)["costs"][0]["cost"] == "2.85"
    assert json.loads(mine[3].after)["costs"][0]["cost"] == "3"
    assert {row.at for row in mine} == {START}


@pytest.mark.parametrize("place", list(OTHERS))
def test_every_kind_has_the_same_life(world: World, place: str) -> None:
    document = {"code": "NEW-1", "description": "New (invented)", **OTHERS[place]}
    made = world.post(f"/v1/{place}", document, "admin")
    shown = read(made, 201)
    assert shown["kind"] == PLACES[place]
    changed = put(world, f"/v1/{place}/NEW-1", shown | {"group": "other"}, made.headers["ETag"])
    assert read(changed) == shown | {"group": "other", "version": 2}
    problem_of(world.ask("GET", "/v1/mouldings/NEW-1"), 404, "not_found")


def test_a_change_needs_the_version_that_is_there(world: World) -> None:
    shown = read(world.ask("GET", OAK))
    problem_of(put(world, OAK, shown, None), 428, "precondition_required")
    problem_of(put(world, OAK, shown, '"7"'), 412, "stale")
    problem_of(put(world, OAK, shown, 'W/"1"'), 412, "stale")
    problem_of(world.ask("POST", f"{OAK}/discontinue", "admin"), 428, "precondition_required")
    assert read(world.ask("GET", OAK)) == shown


def test_of_two_writers_the_second_is_told(world: World) -> None:
    shown = read(world.ask("GET", OAK))
    first = put(world, OAK, shown | {"colour": "brown"}, '"1"')
    second = put(world, OAK, shown | {"colour": "black"}, '"1"')
    assert first.status_code == 200
    problem_of(second, 412, "stale")
    assert read(world.ask("GET", OAK))["colour"] == "brown"


def test_what_was_seen_is_not_sent_again(world: World) -> None:
    tag = world.ask("GET", OAK).headers["ETag"]
    again = world.ask("GET", OAK, headers={"If-None-Match": tag})
    assert (again.status_code, again.get_data()) == (304, b"")


def test_nothing_is_deleted(world: World) -> None:
    assert problem_of(world.ask("DELETE", OAK, "admin"), 405, "method_not_allowed")


def test_a_code_names_one_thing_for_good(world: World) -> None:
    problem_of(world.post("/v1/mouldings", NEW | {"code": "BRD-1204"}, "admin"), 409, "conflict")
    shown = read(world.ask("GET", OAK))
    refused = put(world, OAK, shown | {"code": "MLD-OTHER"}, '"1"')
    assert faults_of(refused) == {"/code": "bad_value"}
    assert faults_of(world.post("/v1/mouldings", NEW | {"code": "A/B"}, "admin")) == {
        "/code": "bad_text"
    }


def test_faults_come_all_at_once_and_lengths_must_agree(world: World) -> None:
    wrong = NEW | {"face_width": "wide", "weight_kg_per_m": "-1", "colour_": "x"}
    assert faults_of(world.post("/v1/mouldings", wrong, "admin")) == {
        "/face_width": "bad_length",
        "/weight_kg_per_m": "bad_number",
        "/colour_": "unknown_field",
    }
    shown = read(world.ask("GET", OAK))
    shown["face_width"]["in"] = "2"  # and the millimetres forgotten
    assert faults_of(put(world, OAK, shown, '"1"')) == {"/face_width": "bad_length"}
    del shown["face_width"]["mm"]
    assert read(put(world, OAK, shown, '"1"'))["face_width"]["mm"] == "50.8"


@pytest.mark.parametrize("scope", ["price", "counter", "bench", "reports"])
def test_only_admin_changes_and_all_read(world: World, scope: str) -> None:
    shown = read(world.ask("GET", OAK, scope))
    assert "cost" not in json.dumps(shown)
    assert "cost" not in json.dumps(read(world.ask("GET", "/v1/mouldings?limit=200", scope)))
    problem_of(put(world, OAK, shown, '"1"', scope), 403, "not_allowed")
    problem_of(world.post("/v1/mouldings", NEW, scope), 403, "not_allowed")
    problem_of(put(world, COSTS, {"costs": []}, '"1"', scope), 403, "not_allowed")
    seen = world.ask("GET", COSTS, scope)
    if scope in ("counter", "reports"):
        assert read(seen)["costs"] == [{"basis": "linear_foot", "cost": "2.85", "sheet": None}]
    else:
        problem_of(seen, 403, "not_allowed")


def test_costs_have_a_version_of_their_own_and_new_ones_count_at_once(world: World) -> None:
    before = read(world.post("/v1/estimates", job()))
    seen = world.ask("GET", COSTS)
    tag = seen.headers["ETag"]
    dear = read(seen)["costs"][0] | {"cost": "5.7"}
    changed = put(world, COSTS, read(seen) | {"costs": [dear]}, tag)
    assert changed.headers["ETag"] != tag
    problem_of(put(world, COSTS, {"costs": []}, tag), 412, "stale")
    assert world.ask("GET", OAK).headers["ETag"] == '"1"'
    world.clock.move(seconds=60)
    after = read(world.post("/v1/estimates", job()))
    frame = [line for line in after["jobs"][0]["lines"] if line["component"] == "frame"]
    was = [line for line in before["jobs"][0]["lines"] if line["component"] == "frame"]
    assert float(frame[0]["rate"]) == 2 * float(was[0]["rate"])
    others = {"costs": [dear, dear | {"item": "BRD-1204"}]}
    assert faults_of(put(world, COSTS, others, "*")) == {"/costs/1/item": "bad_value"}


def test_lists_are_filtered_searched_and_paged(world: World) -> None:
    every = sorted(item.code for item in demo_items() if item.code.startswith("MLD-"))
    seen, path = [], "/v1/mouldings?limit=9"
    while path:
        answer = world.ask("GET", path, "price")
        seen += [row["code"] for row in read(answer)["items"]]
        link = answer.headers.get("Link", "")
        path = link[1 : link.index(">")] if link else ""
    assert seen == every
    oak = read(world.ask("GET", "/v1/mouldings?q=OAK%20125&discontinued=false"))["items"]
    assert "MLD-OAK125" in [row["code"] for row in oak]
    assert all("125" in row["code"] + row["description"] for row in oak)
    gilt = read(world.ask("GET", "/v1/mouldings?group=gilt&limit=200"))["items"]
    assert {row["group"] for row in gilt} == {"gilt"}
    world.clock.move(minutes=1)
    put(world, OAK, read(world.ask("GET", OAK)), '"1"')
    since = world.clock().isoformat().replace("+00:00", "Z")
    late = read(world.ask("GET", f"/v1/mouldings?updated_since={since}"))["items"]
    assert [row["code"] for row in late] == ["MLD-OAK125"]


@pytest.mark.parametrize(
    "query",
    ["colour=red", "discontinued=yes", "limit=0", "cursor=%2f%2f", "q=a&q=b", "q=%00", "group=%00"],
)
def test_a_list_refuses_what_it_does_not_know(world: World, query: str) -> None:
    problem_of(world.ask("GET", f"/v1/boards?{query}"), 400, "bad_parameter")


def test_another_shops_items_do_not_exist(world: World) -> None:
    problem_of(world.ask("GET", OAK, "other"), 404, "not_found")
    assert read(world.ask("GET", "/v1/mouldings", "other"))["items"] == []
    problem_of(world.ask("GET", "/v1/mouldings/%00"), 404, "not_found")
