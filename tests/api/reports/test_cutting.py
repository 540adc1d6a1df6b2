"""The use of stock by committed plans, added up by hand; common practice, no source."""

from __future__ import annotations

from typing import Any

from tests.api.contract.shapes import wrong
from tests.api.world import World

SHEET = {"item": "BRD-1204", "width": "32 in", "height": "40 in", "cost": "10"}
STICK = {"item": "MLD-OAK125", "length": "120 in", "cost": "10"}
HALF = {"item": "BRD-1204", "width": "32 in", "height": "20 in"}
RAILS = {"item": "MLD-OAK125", "length": "50 in", "quantity": 2}
AMOUNTS = ("new", "offcuts", "taken", "made", "kept", "waste", "utilisation")
NOTHING_KEPT = {"offcut_long": "99 in", "offcut_stick": "99 in", "use_offcuts": False}


def committed(world: World, *pieces: dict[str, Any], **options: Any) -> str:
    """The address of a plan that is committed."""
    body = {
        "dry_run": False,
        "pieces": pieces,
        "stock": [SHEET, STICK],
        "options": {"sheet_kerf": "0", **options},
    }
    made = world.post("/v1/cutting-plans", body, "bench")
    assert made.status_code == 201, made.get_json()
    address = f"/v1/cutting-plans/{made.get_json()['id']}"
    step(world, address, "commit")
    return address


def step(world: World, address: str, name: str) -> None:
    answer = world.post(f"{address}/{name}", {}, "bench", headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.get_json()


def report(world: World, query: str = "") -> dict[str, Any]:
    answer = world.ask("GET", f"/v1/reports/cutting{query}", "bench")
    assert answer.status_code == 200, answer.get_json()
    document: dict[str, Any] = answer.get_json()
    assert wrong("CuttingReport", document) == []
    return document


def amounts(row: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(row[name] for name in AMOUNTS)


def test_pieces_offcuts_and_waste_add_up_to_the_stock(world: World) -> None:
    committed(world, {**HALF, "width": "12 in", "quantity": 3}, RAILS, **NOTHING_KEPT)
    rows = {row["item"]: row for row in report(world)["rows"]}
    # A sheet has 32 x 40 = 1280 square inches, three pieces 720: 5 of 8.8889 square feet.
    board = rows["BRD-1204"]
    assert amounts(board) == (1, 0, "8.888889", "5", "0", "3.888889", "0.5625")
    assert (board["unit"], board["plans"]) == ("square_foot", 1)
    # Two rails of 50 in from a stick of 120 in: 100 of 120 in, the saw's dust is in the waste.
    rails = rows["MLD-OAK125"]
    assert amounts(rails) == (1, 0, "10", "8.333333", "0", "1.666667", "0.833333")
    assert rails["unit"] == "linear_foot"


def test_what_goes_on_the_rack_is_no_waste_and_counts_again_when_it_is_cut(world: World) -> None:
    committed(world, HALF, offcut_short="10 in", offcut_long="20 in", use_offcuts=False)
    (row,) = report(world)["rows"]
    assert amounts(row) == (1, 0, "8.888889", "4.444444", "4.444444", "0", "1")
    committed(world, HALF, use_offcuts=True)
    (row,) = report(world)["rows"]
    assert amounts(row) == (1, 1, "13.333333", "8.888889", "4.444444", "0", "1")
    assert row["plans"] == 2


def test_each_month_has_a_row_and_all_of_them_a_total(world: World) -> None:
    committed(world, HALF, **NOTHING_KEPT)
    world.clock.move(days=10)  # from November into December
    committed(world, HALF, HALF, **NOTHING_KEPT)
    told = report(world, "?from=2026-11-01&to=2026-12-31&period=month")
    assert [(row["from"], row["made"]) for row in told["rows"]] == [
        ("2026-11-01", "4.444444"),
        ("2026-12-01", "8.888889"),
    ]
    (total,) = told["totals"]
    assert amounts(total) == (2, 0, "17.777778", "13.333333", "0", "4.444444", "0.75")


def test_an_undone_plan_counts_only_for_the_time_before(world: World) -> None:
    address = committed(world, HALF, **NOTHING_KEPT)
    then = world.clock().isoformat().replace("+00:00", "Z")
    world.clock.move(seconds=60)
    step(world, address, "undo")
    assert report(world)["rows"] == []
    assert len(report(world, f"?as_of={then}")["rows"]) == 1
