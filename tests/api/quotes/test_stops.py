"""What cannot be made is not offered: kept as a draft, refused to a public form, or set aside.

A mat board for 500 x 20 in does not exist; the sheets of the demo shop are invented. That a piece
is cut from one sheet is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.api.quotes.test_steps import QUOTES, made, now, pressed
from tests.api.world import World, faults_of, job, problem_of

SEAM = {"stop": "larger_than_stock_sheet", "reason": "a roll of board comes from the maker"}


def long_banner(**more: Any) -> dict[str, Any]:
    banner = {
        "label": "Regatta banner",
        "artwork": {"width": "100", "height": "20"},
        "presentation": "overlap",
        "mats": [{"board": "BRD-1204", "border": "3"}],
        **more,
    }
    return {"units": "in", "jobs": [job()["jobs"][0], banner]}


def test_a_till_keeps_it_as_a_draft_that_says_why(world: World) -> None:
    kept = made(world, document=long_banner())
    assert kept["status"] == "draft"
    (stop,) = [each for each in kept["jobs"][1]["advisories"] if each["severity"] == "stop"]
    assert stop["path"] == "/jobs/1/mats/0/board"
    assert "the largest is 60 in x 104 in" in stop["message"]
    assert "split it into smaller pieces" in stop["message"]
    told = world.ask("GET", f"{QUOTES}/{kept['number']}/promise").get_json()
    assert told["day"] is None
    refused = problem_of(pressed(world, kept["number"], "issue"), 409, "ticket_refused")
    assert refused["errors"][0]["pointer"] == "/jobs/1/mats/0/board"
    assert "not offered" in refused["detail"]
    assert now(world, kept["number"])["status"] == "draft"


def test_a_draft_that_is_mended_is_issued(world: World) -> None:
    kept = made(world, document=long_banner())
    mended = world.post(
        f"{QUOTES}/{kept['number']}/revisions", job(), headers={"If-Match": "*"}
    ).get_json()
    assert mended["status"] == "draft"
    assert pressed(world, kept["number"], "issue").get_json()["status"] == "issued"


def test_a_form_is_refused_with_every_reason(world: World) -> None:
    before = world.rows()
    refused = world.post(QUOTES, long_banner(), "price")
    assert faults_of(refused) == {"/jobs/1/mats/0/board": "larger_than_stock_sheet"}
    assert world.rows() == before


def test_a_quote_on_offer_is_not_revised_to_one_that_cannot_be_made(world: World) -> None:
    offered = made(world)
    revised = world.post(
        f"{QUOTES}/{offered['number']}/revisions", long_banner(), headers={"If-Match": "*"}
    )
    assert faults_of(revised) == {"/jobs/1/mats/0/board": "larger_than_stock_sheet"}
    assert now(world, offered["number"])["revision"] == 1


def test_another_board_is_named_where_one_is_large_enough(world: World) -> None:
    document = long_banner(artwork={"width": "60", "height": "30"})
    document["jobs"][1]["mats"][0]["board"] = "BRD-1310"
    (stop,) = [
        each
        for each in made(world, document=document)["jobs"][1]["advisories"]
        if each["severity"] == "stop"
    ]
    assert "take BRD-1201 or BRD-1204, split it" in stop["message"]


def test_a_shop_sets_a_stop_aside_with_a_reason_that_papers_show(world: World) -> None:
    document = long_banner(overrides=[SEAM])
    kept = made(world, document=document)
    assert kept["status"] == "issued"
    (stop,) = [each for each in kept["jobs"][1]["advisories"] if each["severity"] == "stop"]
    assert stop["overridden"] == SEAM["reason"]
    page = world.ask("GET", f"{QUOTES}/{kept['number']}", headers={"Accept": "text/html"})
    assert SEAM["reason"] in page.get_data(as_text=True)
    accepted = pressed(world, kept["number"], "accept")
    assert accepted.status_code == 200, accepted.get_json()
    ticket = accepted.get_json()["tickets"][1]["number"]
    shown = world.ask("GET", f"/v1/cut-tickets/{ticket}").get_json()
    assert [each.get("overridden") for each in shown["advisories"] if "overridden" in each] == [
        SEAM["reason"]
    ]
    card = world.ask("GET", f"/v1/cut-tickets/{ticket}", headers={"Accept": "text/html"})
    assert SEAM["reason"] in card.get_data(as_text=True)


def test_a_form_sets_nothing_aside(world: World) -> None:
    asked = world.post("/v1/estimates", long_banner(overrides=[SEAM]), "price")
    assert faults_of(asked) == {"/jobs/1/overrides": "not_allowed"}


@pytest.mark.parametrize(
    ("override", "pointer"),
    [
        ({"stop": "opening_larger_than_board", "reason": "we can"}, "/jobs/1/overrides/0/stop"),
        ({"stop": SEAM["stop"], "reason": " "}, "/jobs/1/overrides/0/reason"),
        ({"stop": SEAM["stop"]}, "/jobs/1/overrides/0/reason"),
    ],
)
def test_what_cannot_be_set_aside_is_named(
    world: World, override: dict[str, str], pointer: str
) -> None:
    refused = world.post("/v1/estimates", long_banner(overrides=[override]))
    assert list(faults_of(refused)) == [pointer]
