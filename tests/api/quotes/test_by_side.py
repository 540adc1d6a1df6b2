"""An overlap or a float margin by side, over HTTP: asked for, kept, explained, on the ticket."""

from __future__ import annotations

from typing import Any

from tests.api.test_tickets import accepted, shown
from tests.api.world import World, faults_of

MARGIN = {"top": "1", "right": "1", "bottom": "2", "left": "1 1/2"}


def floated(**changes: Any) -> dict[str, Any]:
    job = {
        "artwork": {"width": "10", "height": "14"},
        "presentation": "float",
        "float_margin": MARGIN,
        "mounting": {"method": "float_hinged", "board": "BRD-1210"},
        "glazing": {"sheet": "GLZ-PG20", "spacer": "1/4"},
        "frames": [{"moulding": "MLD-OAK125"}],
    }
    return {"units": "in", "jobs": [{**job, **changes}]}


def test_it_is_kept_explained_and_placed_on_the_ticket(world: World) -> None:
    quote = accepted(world, floated())
    (job,) = quote["jobs"]
    assert job["sizes"]["package"]["width"]["in"] == "12.5"
    assert job["sizes"]["package"]["height"]["in"] == "17"
    place = f"/v1/quotes/{quote['number']}"
    rows = world.ask("GET", f"{place}/workings").get_json()["workings"]
    assert not [row["figure"] for row in rows if "worked_out_by" in row]
    found = {row["figure"]: row["formula"] for row in rows}
    assert found["/jobs/0/sizes/shows/width"].startswith("art + left + right")
    ticket = shown(world, quote["tickets"][0]["number"])
    (art,) = ticket["sizes"]["art_places"]
    assert (art["x"]["shop"], art["y"]["shop"]) == ("1 1/2", "1")
    text = " ".join(step["text"] for step in ticket["steps"])
    assert "1 1/2 in from the left, 1 in from the top" in text
    page = world.ask(
        "GET", f"/v1/cut-tickets/{ticket['number']}", "bench", headers={"Accept": "text/html"}
    )
    assert page.status_code == 200


def test_one_length_stands_for_all_sides(world: World) -> None:
    sides = dict.fromkeys(MARGIN, "1")
    one, four = (
        world.post("/v1/estimates", floated(float_margin=margin)).get_json()
        for margin in ("1", sides)
    )
    assert one == four


def test_a_side_that_is_left_out_is_asked_for(world: World) -> None:
    document = floated(float_margin={"top": "1", "left": "1"})
    assert "/jobs/0/float_margin/right" in faults_of(world.post("/v1/estimates", document))
