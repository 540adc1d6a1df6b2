"""Spacers laid on one another, as round an object: depth, material, time, ticket, faults.

By hand: 1/2 and 1/4 in make 3/4 in. Round a package of 10 x 14 in each takes 48 in, 4 feet. That
spacers are stacked where none is deep enough is common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from tests.api.test_tickets import accepted, shown
from tests.api.world import World, faults_of


def boxed(**glazing: Any) -> dict[str, Any]:
    job = {
        "artwork": {"width": "10", "height": "14", "thickness": "1/2", "kind": "object"},
        "presentation": "full_bleed",
        "glazing": {"sheet": "GLZ-PG20", **glazing},
        "mounting": {"method": "laced", "board": "BRD-1210"},
        "backing": {"board": "BCK-FOAM316"},
        "frames": [{"moulding": "MLD-OAK125"}],
    }
    return {"units": "in", "jobs": [job]}


def test_their_depths_add_up_and_each_is_used(world: World) -> None:
    (one,) = world.post("/v1/estimates", boxed(spacer="1/2")).get_json()["jobs"]
    (two,) = world.post("/v1/estimates", boxed(spacers=["1/2", "1/4"])).get_json()["jobs"]
    depths = [Decimal(job["sizes"]["stack_depth"]["mm"]) for job in (one, two)]
    assert depths[1] - depths[0] == Decimal("6.35")  # 1/4 in
    used = {row["item"]: row["quantity"] for row in two["materials"]}
    assert (used["SUP-SPACER12"], used["SUP-SPACER14"]) == ("4", "4")
    feet = [
        row["units"]
        for job in (one, two)
        for row in job["labour"]["operations"]
        if row["driver"] == "spacer_feet"
    ]
    assert feet == ["4", "8"]


def test_the_ticket_stacks_them(world: World) -> None:
    quote = accepted(world, boxed(spacers=["1/2", "1/4"]))
    rows = world.ask("GET", f"/v1/quotes/{quote['number']}/workings").get_json()["workings"]
    assert not [row["figure"] for row in rows if "worked_out_by" in row]
    ticket = shown(world, quote["tickets"][0]["number"])
    text = " ".join(step["text"] for step in ticket["steps"])
    assert "Stick 2 spacers on one another: Spacer, 1/2 in, Spacer, 1/4 in." in text
    assert "3/4 in deep, round its edge" in text


def test_faults_are_named(world: World) -> None:
    found = faults_of(world.post("/v1/estimates", boxed(spacer="1/2", spacers=["1/4", "3/8"])))
    assert found == {
        "/jobs/0/glazing/spacer": "spacer_and_spacers",
        "/jobs/0/glazing/spacers/1": "no_such_spacer",
    }


def test_every_glazing_is_tried_over_them(world: World) -> None:
    (job,) = boxed(spacers=["1/2", "1/4"])["jobs"]
    tried = world.post("/v1/estimates/sweep", {"job": job, "over": "glazing"}).get_json()
    alone = world.post("/v1/estimates", {"jobs": [job]}).get_json()
    totals = {choice["item"]: choice["total"] for choice in tried["choices"]}
    assert totals["GLZ-PG20"] == alone["totals"]["total"]
