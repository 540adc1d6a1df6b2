"""Every answer has the published shape and no field more; every request fits its own."""

from __future__ import annotations

from typing import Any

import pytest

from service.demo import demo_jobs
from tests.api.contract.shapes import validator, wrong
from tests.api.http.nonsense import NONSENSE
from tests.api.world import World, job

JOBS = sorted(demo_jobs())
EXTRAS: dict[str, dict[str, Any]] = {
    "a bare mat, no frame": {
        "artwork": {"width": 10, "height": 8},
        "presentation": "overlap",
        "mats": [{"board": "BRD-1204", "border": 3}],
    },
    "a fillet, an arch, two placed windows": {
        "presentation": "overlap",
        "openings": [
            {"artwork": {"width": 5, "height": 7}, "x": 3, "y": 3, "shape": "arch"},
            {"artwork": {"width": 5, "height": 7}, "x": 10, "y": 3},
        ],
        "mats": [{"board": "BRD-1204", "border": 3, "fillet": "FIL-GLT14-ROPE"}],
        "frames": [{"moulding": "MLD-OAK125", "supply": "chop"}],
    },
    "an octagon": {
        "artwork": {"width": 10, "height": 10},
        "presentation": "full_bleed",
        "frames": [{"moulding": "MLD-OAK125", "sides": 8}],
    },
    "a lip that hides the border": {
        "artwork": {"width": 10, "height": 8},
        "presentation": "overlap",
        "mats": [{"board": "BRD-1204", "border": "1/16"}],
        "frames": [{"moulding": "MLD-OAK125"}],
    },
    "as large as it gets": {
        "quantity": 10_000,
        "artwork": {"width": "199 ft", "height": "1/16 in"},
        "presentation": "full_bleed",
        "frames": [{"moulding": "MLD-OAK125"}],
    },
    "nothing but the art": {
        "artwork": {"width": "1 mm", "height": "1 mm"},
        "presentation": "full_bleed",
    },
}


def _documents() -> dict[str, dict[str, Any]]:
    more = {name: {"units": "in", "jobs": [one]} for name, one in EXTRAS.items()}
    every = [one for name in JOBS for one in job(name)["jobs"] if job(name)["units"] == "in"]
    several = {"units": "in", "jobs": every}
    turned = {"units": "in", "jobs": [*every[::-1], EXTRAS["an octagon"]]}
    return {**{n: job(n) for n in JOBS}, **more, "several": several, "others first": turned}


DOCUMENTS = _documents()


@pytest.mark.parametrize("name", DOCUMENTS)
@pytest.mark.parametrize("scope", ["price", "counter"])
def test_estimates_and_quotes(world: World, name: str, scope: str) -> None:
    document = DOCUMENTS[name]
    assert wrong("QuoteRequest", document) == []
    answer = world.post("/v1/estimates", document, scope)
    assert answer.status_code in (200, 422), answer.get_json()
    if answer.status_code == 422:
        assert name == "as large as it gets", answer.get_json()
        assert wrong("Problem", answer.get_json()) == []
        return
    assert wrong("Estimate", answer.get_json()) == []
    assert ("costs" in answer.get_json()) == (scope == "counter")
    stored = world.post("/v1/quotes", document, scope)
    quote = stored.get_json()
    if stored.status_code == 422:  # a public form asks for nothing that cannot be made
        stops = [a for job in answer.get_json()["jobs"] for a in job["advisories"]]
        assert scope == "price"
        assert "stop" in {advisory["severity"] for advisory in stops}
        assert wrong("Problem", quote) == []
        return
    assert wrong("Quote", quote) == []
    shown = world.ask("GET", f"/v1/quotes/{quote['id']}").get_json()
    assert wrong("Quote", shown) == []
    assert wrong("QuoteList", world.ask("GET", "/v1/quotes?limit=1").get_json()) == []
    workings = world.ask("GET", f"/v1/quotes/{quote['number']}/workings").get_json()
    assert wrong("Workings", workings) == []
    assert len(workings["workings"]) > 3


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("over", ["mouldings", "glazing"])
def test_sweeps(still_world: World, name: str, over: str) -> None:
    asked = {"units": job(name)["units"], "job": job(name)["jobs"][0], "over": over}
    assert wrong("SweepRequest", asked) == []
    answer = still_world.post("/v1/estimates/sweep", asked, "price")
    if answer.status_code == 422:  # a canvas in a floater frame has no glazing
        assert (name, over) == ("canvas_in_floater", "glazing")
        assert wrong("Problem", answer.get_json()) == []
        return
    assert answer.status_code == 200
    document = answer.get_json()
    assert wrong("Sweep", document) == []
    assert document["choices"]


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("over", ["mouldings", "glazing"])
def test_a_sweeps_total_is_the_estimates(still_world: World, name: str, over: str) -> None:
    document = job(name)
    one = document["jobs"][0]
    part, code = ("frames", "moulding") if over == "mouldings" else ("glazing", "sheet")
    if not one.get(part):
        pytest.skip(f"this job has no {part}")
    asked = {"units": document["units"], "job": one, "over": over}
    swept = still_world.post("/v1/estimates/sweep", asked).get_json()
    for choice in swept["choices"]:
        (one[part][0] if part == "frames" else one[part])[code] = choice["item"]
        alone = still_world.post("/v1/estimates", document)
        if alone.status_code == 422:  # the supply asked for is not one of this moulding's
            found = [fault["code"] for fault in alone.get_json()["errors"]]
            assert found == ["not_supplied"]
            continue
        totals = alone.get_json()["totals"]
        assert {n: totals[n] for n in ("subtotal", "discount", "tax", "total")} == {
            n: choice[n] for n in ("subtotal", "discount", "tax", "total")
        }


@pytest.mark.parametrize("name", NONSENSE)
def test_refusals(still_world: World, name: str) -> None:
    document = job()
    NONSENSE[name][0](document)
    answer = still_world.post("/v1/estimates", document)
    assert wrong("Problem", answer.get_json()) == []


def test_other_refusals_and_health(still_world: World) -> None:
    for method, path, scope in (
        ("GET", "/v1/quotes", None),
        ("GET", "/v1/quotes", "price"),
        ("GET", "/v1/quotes?limit=0", "counter"),
        ("GET", "/v1/quotes/Q1", "counter"),
        ("PUT", "/v1/quotes", "counter"),
        ("POST", "/v1/quotes", "counter"),
    ):
        answer = still_world.ask(method, path, scope)
        assert answer.status_code >= 400
        assert wrong("Problem", answer.get_json()) == []
    for path, shape in (("/healthz", "Health"), ("/readyz", "Readiness")):
        assert wrong(shape, still_world.ask("GET", path, None).get_json()) == []


def test_the_shapes_are_strict_enough_to_find_a_slip() -> None:
    """A check that passes everything would be none."""
    good = {"in": "16.375", "mm": "415.925", "shop": "16 3/8"}
    assert wrong("Length", good) == []
    for change in ({"in": 16.375}, {"mm": "415,9"}, {"shop": "16 3/8 in"}, {"cm": "41.5925"}):
        assert wrong("Length", {**good, **change})
    assert wrong("Length", {"in": "1", "mm": "25.4"})
    assert wrong("Advisory", {"code": "a", "severity": "loud", "message": "", "path": ""})
    assert validator("Length", strict=False).is_valid({**good, "cm": "41.5925"})  # room to grow
