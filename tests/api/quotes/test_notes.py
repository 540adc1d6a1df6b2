"""Notes and the condition at intake: in the answer, on the ticket, and on the customer's papers.

That a shop records the condition before it touches a piece, and keeps its own remarks from the
customer, is common practice, no source.
"""

from __future__ import annotations

from typing import Any

from tests.api.test_tickets import accepted, shown
from tests.api.world import World, faults_of, job

PICTURE = {"url": "https://pictures.example/7/lower-left.jpg", "sha256": "ab" * 32}
HUSHED = "Customer haggles: no further discount"


def told() -> dict[str, Any]:
    document = job()
    document["notes"] = [
        {"text": "Call before noon", "inside": False},
        {"text": HUSHED},
    ]
    (picture,) = document["jobs"]
    picture["notes"] = [{"text": "Hang with the window on the left", "inside": False}]
    picture["mats"][1]["notes"] = [{"text": "Second colour tried: 1312", "inside": True}]
    picture["backing"]["notes"] = [{"text": "Copy the old label\nto the new back"}]
    picture["condition"] = [
        {"code": "tear", "words": "1 in, lower left", "photographs": [PICTURE]},
        {"code": "foxing"},
    ]
    return document


def test_an_answer_repeats_them_with_their_places(world: World) -> None:
    answer = world.post("/v1/estimates", told()).get_json()
    assert [note["text"] for note in answer["notes"]] == ["Call before noon", HUSHED]
    (picture,) = answer["jobs"]
    places = {note["path"]: note["inside"] for note in picture["notes"]}
    assert places == {"/jobs/0": False, "/jobs/0/mats/1": True, "/jobs/0/backing": True}
    tear, foxing = picture["condition"]
    assert (tear["description"], tear["photographs"]) == ("Tear", [PICTURE])
    assert (foxing["code"], foxing["photographs"]) == ("foxing", [])


def test_nothing_is_priced_otherwise_for_them(world: World) -> None:
    with_notes = world.post("/v1/estimates", told()).get_json()
    without = world.post("/v1/estimates", job()).get_json()
    assert with_notes["totals"] == without["totals"]
    plain = {**with_notes["jobs"][0]}
    del plain["notes"], plain["condition"]
    assert plain == without["jobs"][0]


def test_the_ticket_tells_them_before_its_first_cut(world: World) -> None:
    quote = accepted(world, told())
    ticket = shown(world, quote["tickets"][0]["number"])
    assert [(each["kind"], each["path"], each["text"]) for each in ticket["before_first_cut"]] == [
        ("condition", "/condition/0", "Tear: 1 in, lower left"),
        ("condition", "/condition/1", "Foxing: brown spots in the paper"),
        ("note", "", "Call before noon"),
        ("note", "", HUSHED),
        ("note", "", "Hang with the window on the left"),
        ("note", "/mats/1", "Second colour tried: 1312"),
        ("note", "/backing", "Copy the old label\nto the new back"),
    ]
    assert ticket["before_first_cut"][0]["photographs"] == [PICTURE]
    place = f"/v1/cut-tickets/{ticket['number']}"
    page = world.ask("GET", place, "bench", headers={"Accept": "text/html"}).get_data(as_text=True)
    for text in (HUSHED, "Tear: 1 in, lower left (1 photographs)", "Copy the old label to the new"):
        assert text in page
    assert page.index("Tear: 1 in") < page.index("Check the squaring arm")


def test_a_customers_papers_never_show_what_is_inside(world: World) -> None:
    quote = world.post("/v1/quotes", told()).get_json()
    place = f"/v1/quotes/{quote['number']}"
    page = world.ask("GET", place, headers={"Accept": "text/html"}).get_data(as_text=True)
    for text in ("Call before noon", "Hang with the window on the left", "Tear: 1 in, lower left"):
        assert text in page
    for text in (HUSHED, "Second colour", "Copy the old label"):
        assert text not in page
    assert world.ask("GET", place, headers={"Accept": "application/pdf"}).status_code == 200


def test_every_fault_is_named_by_its_place(world: World) -> None:
    document = told()
    document["notes"].append({"text": "", "inside": "yes"})
    (picture,) = document["jobs"]
    picture["condition"] = [
        {"code": "tear", "photographs": [{"url": "http://pictures.example/1", "sha256": "77"}]},
        {"code": "tear", "photographs": [{"url": "https://me:pw@pictures.example/1"}]},
    ]
    assert faults_of(world.post("/v1/estimates", document)) == {
        "/notes/2/text": "bad_text",
        "/notes/2/inside": "bad_value",
        "/jobs/0/condition/0/photographs/0/url": "bad_address",
        "/jobs/0/condition/0/photographs/0/sha256": "bad_digest",
        "/jobs/0/condition/1/photographs/0/url": "bad_address",
        "/jobs/0/condition/1/photographs/0/sha256": "missing_field",
    }


def test_a_term_that_the_shop_does_not_have_is_named(world: World) -> None:
    document = told()
    document["jobs"][0]["condition"] = [{"code": "bitten"}]
    found = faults_of(world.post("/v1/quotes", document))
    assert found == {"/jobs/0/condition/0/code": "unknown_condition"}
