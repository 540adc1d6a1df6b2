"""What of a quote the rack gives, and the life of an offcut on it."""

from __future__ import annotations

from typing import Any

from tests.api.contract.shapes import wrong
from tests.api.test_cutting import press, stored
from tests.api.world import World, job, problem_of

MAT, OAK = "BRD-1204", "MLD-OAK125"


def quoted(world: World, document: dict[str, Any]) -> str:
    made = world.post("/v1/quotes", document)
    assert made.status_code == 201, made.get_json()
    number: str = made.get_json()["number"]
    return number


def from_rack(world: World, quote: str) -> dict[str, Any]:
    answer = world.ask("GET", f"/v1/quotes/{quote}/from-rack")
    assert answer.status_code == 200, answer.get_json()
    document: dict[str, Any] = answer.get_json()
    assert wrong("FromRack", document) == []
    return document


def put(world: World, item: str, **size: str) -> str:
    added = world.post("/v1/offcuts", {"item": item, "place": "B", **size})
    assert added.status_code == 201, added.get_json()
    label: str = added.get_json()["label"]
    return label


def test_a_quote_says_what_the_rack_would_give(world: World) -> None:
    quote = quoted(world, job())  # the etching: its top mat is 22 5/8 x 26 3/4
    bare = from_rack(world, quote)
    assert [piece["from_rack"] for piece in bare["pieces"]] == [0] * len(bare["pieces"])
    assert (bare["offcuts"], bare["complete"]) == ([], False)
    put(world, MAT, width="22", height="40")  # too narrow by 5/8
    turned = put(world, MAT, width="27", height="23")
    stick = put(world, OAK, length="60")  # 1/2 in trim a side: two rails of 24 3/4 and a kerf
    before = world.rows()
    told = from_rack(world, quote)
    assert world.rows() == before, "nothing is taken"
    found = {(p["item"], p["name"]): p for p in told["pieces"] if p["from_rack"]}
    assert [(item, p["from_rack"], p["offcuts"]) for (item, _), p in found.items()] == [
        (MAT, 1, [turned]),
        (OAK, 2, [stick]),
    ]
    assert {(o["label"], o["place"], o["pieces"]) for o in told["offcuts"]} == {
        (turned, "B", 1),
        (stick, "B", 2),
    }


def test_what_is_bought_cut_is_no_matter_of_the_rack(world: World) -> None:
    document = job()
    document["jobs"][0]["frames"] = [{"moulding": OAK, "supply": "chop"}]
    put(world, OAK, length="120")
    told = from_rack(world, quoted(world, document))
    assert OAK not in {piece["item"] for piece in told["pieces"]}


def test_an_offcut_that_a_plan_took_is_not_offered(world: World) -> None:
    label = put(world, MAT, width="27", height="23")
    quote = quoted(world, job())
    assert [o["label"] for o in from_rack(world, quote)["offcuts"]] == [label]
    made = stored(world, {"item": MAT, "width": "26", "height": "22"})
    press(world, made.get_json()["id"], "commit", made.headers["ETag"])
    assert from_rack(world, quote)["offcuts"] == []


def test_an_offcut_is_moved_and_its_label_says_so(world: World) -> None:
    label = put(world, MAT, width="27", height="23")
    place = f"/v1/offcuts/{label}"
    body = {"place": "by the door"}
    problem_of(world.ask("PATCH", place, json=body), 428, "precondition_required")
    moved = world.ask("PATCH", place, json=body, headers={"If-Match": '"1"'})
    assert (moved.status_code, moved.get_json()["place"]) == (200, "by the door")
    assert wrong("OffcutShown", moved.get_json()) == []
    assert "by the door" in world.ask("GET", f"{place}/label.svg").get_data(as_text=True)
    problem_of(world.ask("PATCH", place, json=body, headers={"If-Match": '"1"'}), 412, "stale")
    assert world.ask("GET", place).get_json() == moved.get_json()
    gone = world.ask("POST", f"{place}/discard", headers={"If-Match": moved.headers["ETag"]})
    assert gone.get_json()["status"] == "discarded"
    lost = world.ask("PATCH", place, json=body, headers={"If-Match": "*"})
    problem_of(lost, 409, "wrong_state")
    wrong_body = world.ask("PATCH", place, json={"shelf": 3}, headers={"If-Match": "*"})
    assert wrong_body.status_code == 422
