"""The wanted day over HTTP: promised, or refused with the first day that can be kept.

The demo shop works 420 minutes a day from Tuesday to Friday and 300 on Saturday, is closed on
26 November, and waits 5 days for material, none with its rush fee. All of it is invented.
"""

from __future__ import annotations

from typing import Any

from tests.api.contract.shapes import wrong
from tests.api.quotes.test_steps import QUOTES, made, now, pressed
from tests.api.world import World, faults_of, job, problem_of

MANY = {**job(), "jobs": job()["jobs"] * 4}


def rush(by: str | None = "2026-11-27") -> dict[str, Any]:
    document = job()
    document["jobs"][0]["fees"] = ["rush"]
    return {**document, "wanted_by": by} if by else document


def promise(world: World, quote: str) -> Any:
    told = world.ask("GET", f"{QUOTES}/{quote}/promise").get_json()
    assert wrong("Promise", told) == []
    return told


def test_a_rush_is_promised_its_day_and_goes_first(world: World) -> None:
    usual = made(world, document=MANY)["number"]
    assert pressed(world, usual, "accept").get_json()["promised"] == "2026-12-01"
    quote = made(world, document=rush())["number"]
    told = promise(world, quote)
    assert (told["first_day"], told["wanted_by"], told["day"]) == ("2026-11-27",) * 3
    taken = pressed(world, quote, "accept").get_json()
    assert taken["promised"] == "2026-11-27"
    with world.wiring.units.reading() as uow:
        order = uow.tickets.open_ones(world.shop_id, 10)
    assert order[0].head.number == taken["tickets"][0]["number"]
    assert now(world, usual)["promised"] == "2026-12-01"


def test_a_day_that_cannot_be_kept_is_refused_with_the_first_one_that_can(world: World) -> None:
    quote = made(world, document={**job(), "wanted_by": "2026-11-27"})["number"]
    told = promise(world, quote)
    assert (told["first_day"], told["day"]) == ("2026-12-01", "2026-12-01")
    before = world.rows()
    refused = problem_of(pressed(world, quote, "accept"), 409, "conflict")
    assert "2026-12-01" in refused["detail"]
    assert "without the rush service" in refused["detail"]
    assert world.rows() == before
    later = pressed(world, quote, "accept", {"wanted_by": "2026-12-01"})
    assert later.get_json()["promised"] == "2026-12-01"


def test_a_day_after_the_usual_one_changes_nothing(world: World) -> None:
    quote = made(world, document={**job(), "wanted_by": "2027-03-01"})["number"]
    assert pressed(world, quote, "accept").get_json()["promised"] == "2026-12-01"


def test_a_rush_fee_without_its_day_is_a_fault(world: World) -> None:
    for path in ("/v1/estimates", QUOTES):
        assert faults_of(world.post(path, rush(None))) == {"/wanted_by": "missing_field"}
    assert world.post("/v1/estimates", rush()).status_code == 200
    assert faults_of(world.post(QUOTES, {**job(), "wanted_by": "soon"})) == {
        "/wanted_by": "bad_date"
    }
