"""The shop's settings and its labour standards over HTTP."""

from __future__ import annotations

import json
from typing import Any

import pytest
from sqlalchemy import select
from werkzeug.test import TestResponse

from service.demo import demo_shop
from service.persistence.events.tables import events
from tests.api.world import World, faults_of, job, problem_of

SHOP = "/v1/shop"
STANDARDS = "/v1/labour-standards"
MINE = f"{STANDARDS}/bench-2026"


def read(answer: TestResponse, status: int = 200) -> dict[str, Any]:
    assert answer.status_code == status, answer.get_data(as_text=True)
    document: dict[str, Any] = json.loads(answer.get_data())
    return document


def put(world: World, path: str, document: Any, tag: str | None, scope: str = "admin") -> Any:
    headers = {} if tag is None else {"If-Match": tag}
    return world.ask("PUT", path, scope, json=document, headers=headers)


def test_settings_are_read_changed_and_count_at_once(world: World) -> None:
    seen = world.ask("GET", SHOP)
    shown = read(seen)
    assert shown["code"] == demo_shop().code
    assert shown["sizing"]["allowance"] == {"in": "0.125", "mm": "3.175", "shop": "1/8"}
    before = read(world.post("/v1/estimates", job()))
    shown["sizing"]["allowance"] = "1/4"
    changed = put(world, SHOP, shown, seen.headers["ETag"])  # an answer, sent back
    assert changed.headers["ETag"] != seen.headers["ETag"]
    world.clock.move(minutes=1)
    after = read(world.post("/v1/estimates", job()))
    rabbets = [r["jobs"][0]["sizes"]["rabbet"]["width"]["in"] for r in (before, after)]
    assert rabbets == ["22.75", "22.875"]
    assert read(world.ask("GET", SHOP)) == read(changed)


def test_settings_that_make_no_sense_are_refused_at_once(world: World) -> None:
    shown = read(world.ask("GET", SHOP))
    shown["sizing"]["allowance"] = "wide"
    shown["time_zone"] = "Atlantis/Centre"
    faults = faults_of(put(world, SHOP, shown, "*"))
    assert faults == {"/sizing/allowance": "bad_length", "/time_zone": "bad_choice"}
    other = read(world.ask("GET", SHOP)) | {"code": "elsewhere"}
    problem_of(put(world, SHOP, other, "*"), 409, "conflict")
    problem_of(put(world, SHOP, shown | {"time_zone": "UTC"}, None), 428, "precondition_required")


def test_of_two_writers_of_settings_the_second_is_told(world: World) -> None:
    seen = world.ask("GET", SHOP)
    tag, shown = seen.headers["ETag"], read(seen)
    assert put(world, SHOP, shown | {"name": "One"}, tag).status_code == 200
    problem_of(put(world, SHOP, shown | {"name": "Two"}, tag), 412, "stale")
    assert read(world.ask("GET", SHOP))["name"] == "One"


def test_changes_are_noted(world: World) -> None:
    shown = read(world.ask("GET", SHOP))
    put(world, SHOP, shown | {"name": "One"}, "*")
    standard = read(world.ask("GET", MINE))
    put(world, MINE, standard | {"cost_per_hour": "33"}, "*")
    with world.wiring.engine.connect() as connection:
        rows = connection.execute(select(events).order_by(events.c.id)).all()
    mine = [row for row in rows if row.subject in ("shop", "labour_standard")]
    assert [row.kind for row in mine] == ["shop.changed", "labour_standard.changed"]
    names = [json.loads(part)["name"] for part in (mine[0].before, mine[0].after)]
    assert names == [demo_shop().name, "One"]
    costs = [json.loads(part)["cost_per_hour"] for part in (mine[1].before, mine[1].after)]
    assert costs == ["31.5", "33"]


def test_an_hour_is_worked_out_from_what_it_is_made_of(world: World) -> None:
    standard = read(world.ask("GET", MINE))
    assert (standard["cost_per_hour"], standard["hour"]) == ("31.5", None)
    # Cabinet shop of three: 15,700 overhead and 26.50 an hour over 480 h (woodweb.com 2006): 59.21.
    hour = {"wages": "12720", "overhead": "15700", "productive_hours": "480"}
    changed = put(world, MINE, standard | {"hour": hour}, "*")
    assert read(changed)["cost_per_hour"] == "59.208333"
    again = put(world, MINE, read(changed), changed.headers["ETag"])  # the answer, sent back
    assert read(again) == read(changed) | {"version": read(changed)["version"] + 1}
    world.clock.move(minutes=1)
    labour = read(world.post("/v1/estimates", job()))
    minutes = labour["jobs"][0]["labour"]["minutes"]
    assert labour["costs"]["jobs"][0]["labour"] == str(round(float(minutes) * 28420 / 480 / 60, 2))


def test_a_multiplier_counts_in_estimates_and_is_explained(world: World) -> None:
    standard = read(world.ask("GET", MINE))
    standard["multipliers"] = [
        {
            "code": "wide",
            "looks_at": "face_width",
            "over": "1",
            "operations": ["cut_rail"],
            "factor": "1.3",
        }
    ]
    assert read(put(world, MINE, standard, "*"))["multipliers"][0]["over"] == "1"
    world.clock.move(minutes=1)
    quote = read(world.post("/v1/quotes", job()), 201)
    rails = next(
        row for row in quote["jobs"][0]["labour"]["operations"] if row["operation"] == "cut_rail"
    )
    assert rails["multiplied_by"] == "1.3"
    assert (rails["set_up_minutes"], rails["unit_minutes"]) == ("2.6", "1.625")
    assert rails["minutes"] == "9.1"  # 2.6 + 4 rails of 1.625
    rows = read(world.ask("GET", f"/v1/quotes/{quote['number']}/workings"))["workings"]
    formulas = {row["figure"]: (row["formula"], row["result"]) for row in rows}
    unit = "/jobs/0/labour/operations/cut_rail/unit_minutes"
    assert formulas[unit] == ("plain * multiplied_by", "1.625")


def test_standards_are_made_and_put_in_use(world: World) -> None:
    shown = read(world.ask("GET", MINE))
    assert shown["in_use"] is True
    new = {"code": "winter", "cost_per_hour": "40", "operations": shown["operations"]}
    made = world.post(STANDARDS, new, "admin")
    assert read(made, 201)["in_use"] is False
    problem_of(world.post(STANDARDS, new, "admin"), 409, "conflict")
    tag = {"If-Match": made.headers["ETag"]}
    used = world.ask("POST", f"{STANDARDS}/winter/use", "admin", headers=tag)
    assert read(used)["in_use"] is True
    rows = read(world.ask("GET", STANDARDS))["items"]
    assert {row["code"]: row["in_use"] for row in rows} == {"bench-2026": False, "winter": True}
    old = world.ask("GET", MINE, headers={"If-None-Match": '"1"'})
    assert old.status_code == 200  # it is another version: no longer in use
    problem_of(world.ask("POST", f"{STANDARDS}/none/use", "admin", headers=tag), 404, "not_found")


@pytest.mark.parametrize(
    ("scope", "reads", "sees"),
    [("price", False, False), ("bench", True, False), ("reports", True, True)],
)
def test_who_may_read_and_change(world: World, scope: str, reads: bool, sees: bool) -> None:
    for path in (SHOP, STANDARDS, MINE):
        answer = world.ask("GET", path, scope)
        if not reads:
            problem_of(answer, 403, "not_allowed")
            continue
        assert ("cost_per_hour" in answer.get_data(as_text=True)) is (sees and path != SHOP)
    problem_of(put(world, SHOP, {}, "*", scope), 403, "not_allowed")
    problem_of(put(world, MINE, {}, "*", scope), 403, "not_allowed")
    problem_of(world.post(STANDARDS, {}, scope), 403, "not_allowed")
