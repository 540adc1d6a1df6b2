"""What is sold under the least margin is told to keys that may see costs, and to no other."""

from __future__ import annotations

from tests.api.world import World, job

ANY = {"If-Match": "*"}


def test_only_who_may_see_costs_is_told(world: World) -> None:
    shop = world.ask("GET", "/v1/shop", "admin").get_json()
    floors = [{"percent": "99.9"}, {"component": "frame", "percent": "99.9"}]
    shop["charging"]["least_margin"] = floors
    changed = world.ask("PUT", "/v1/shop", "admin", json=shop, headers=ANY)
    assert changed.status_code == 200, changed.get_data(as_text=True)
    seen = world.ask("POST", "/v1/estimates", "counter", json=job())
    (costs,) = seen.get_json()["costs"]["jobs"]
    assert {each["code"] for each in costs["advisories"]} == {"under_least_margin"}
    assert costs["advisories"][0]["path"] == "/jobs/0"
    assert "under_least_margin" not in str(seen.get_json()["jobs"])
    public = world.ask("POST", "/v1/estimates", "price", json=job())
    assert public.status_code == 200
    assert "least_margin" not in public.get_data(as_text=True)
    stored = world.post("/v1/quotes", job()).get_json()["id"]
    kept = world.ask("GET", f"/v1/quotes/{stored}", "counter").get_json()["costs"]["jobs"]
    assert kept[0]["advisories"] == costs["advisories"]
    paper = world.ask("GET", f"/v1/quotes/{stored}", "counter", headers={"Accept": "text/html"})
    assert paper.status_code == 200
    assert "least margin" not in paper.get_data(as_text=True)
    shop["charging"]["least_margin"] = [*floors, floors[1]]
    refused = world.ask("PUT", "/v1/shop", "admin", json=shop, headers=ANY)
    (fault,) = refused.get_json()["errors"]
    assert fault["pointer"] == "/charging/least_margin/2/component"
