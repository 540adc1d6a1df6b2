"""Lines of their own over HTTP: in totals, tax, costs, workings, tickets and reports.

Amounts are worked by hand from the demo's invented price list.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from tests.api.test_tickets import accepted, shown
from tests.api.world import World, faults_of, job

GLUE = {"description": "Remove old glue", "unit_price": "12.50", "quantity": "2", "minutes": "20.5"}
LABEL = {"description": "Brass plate", "unit_price": "18", "tax_category": ""}


def with_lines() -> dict[str, Any]:
    document = job()
    document["jobs"][0]["lines"] = [GLUE, LABEL]
    document["lines"] = [
        {"service": "delivery", "quantity": "12"},
        {"service": "installation", "quantity": "0.5", "description": "Hang it over the piano"},
    ]
    return document


def lines_of(answer: dict[str, Any]) -> list[tuple[str, str, str]]:
    return [(line["component"], line["description"], line["amount"]) for line in answer["lines"]]


def test_they_enter_the_totals_and_the_tax(world: World) -> None:
    plain = world.post("/v1/estimates", job()).get_json()
    done = world.post("/v1/estimates", with_lines()).get_json()
    assert lines_of(done["jobs"][0])[-2:] == [
        ("sundry", "Remove old glue", "25.00"),
        ("sundry", "Brass plate", "18.00"),
    ]
    assert lines_of(done) == [
        ("service", "Delivery, by distance", "35.00"),  # the band of 5 to 15 miles
        ("service", "Hang it over the piano", "40.00"),  # half an hour is below the least charge
    ]
    before, after = (Decimal(each["totals"]["subtotal"]) for each in (plain, done))
    assert after - before == Decimal("25.00") + 18 + 35 + 40
    # The demo taxes goods and fees at 6.25 % and no labour: 25.00 of glue and 35.00 of delivery.
    taxed = [sum(Decimal(t["base"]) for t in each["totals"]["taxes"]) for each in (plain, done)]
    assert taxed[1] - taxed[0] >= Decimal("25.00")
    totals = {name: Decimal(done["totals"][name]) for name in ("subtotal", "discount", "tax")}
    assert Decimal(done["totals"]["total"]) == (
        totals["subtotal"] - totals["discount"] + totals["tax"]
    )


def test_minutes_are_on_the_ticket_and_not_billed_again(world: World) -> None:
    plain = world.post("/v1/estimates", job()).get_json()["jobs"][0]
    done = world.post("/v1/estimates", with_lines()).get_json()["jobs"][0]
    more = Decimal(done["labour"]["minutes"]) - Decimal(plain["labour"]["minutes"])
    assert more == Decimal("20.5")
    bench = [
        [line for line in each["lines"] if line["component"] == "labour"] for each in (plain, done)
    ]
    assert bench[0] == bench[1]
    quote = accepted(world, with_lines())
    ticket = shown(world, quote["tickets"][0]["number"])
    assert ticket["minutes"] == done["labour"]["minutes"]
    steps = [step for step in ticket["steps"] if step["text"].startswith("Other work")]
    assert [(step["text"], step["minutes"]) for step in steps] == [
        ("Other work: Remove old glue.", "20.5")
    ]


def test_a_stored_quote_explains_and_sells_them(world: World) -> None:
    quote = accepted(world, with_lines())
    rows = world.ask("GET", f"/v1/quotes/{quote['number']}/workings").get_json()["workings"]
    assert not [row["figure"] for row in rows if "worked_out_by" in row]
    found = {row["figure"]: row for row in rows}
    assert found["/lines/0/amount"]["result"] == "35.00"
    assert found["/lines/1/each"]["formula"] == "half_up(max(quantity * rate, minimum), 0.01)"
    assert found["/totals/subtotal"]["result"] == quote["totals"]["subtotal"]
    sold = world.ask("GET", "/v1/reports/sales-by-component", "reports").get_json()["rows"]
    nets = {row["component"]: row["net"] for row in sold}
    assert (nets["service"], nets["sundry"]) == ("75.00", "43.00")
    net = Decimal(quote["totals"]["total"]) - Decimal(quote["totals"]["tax"])
    assert sum(map(Decimal, nets.values())) == net


def test_discounts_leave_them_alone(world: World) -> None:
    plain = world.post("/v1/estimates", job()).get_json()
    document = with_lines() | {"discounts": [{"reason": "school", "percent": "10"}]}
    done = world.post("/v1/estimates", document).get_json()
    (school,) = done["totals"]["discounts"]
    assert school["base"] == plain["jobs"][0]["subtotal"]


def test_a_public_form_may_ask_for_a_service_and_set_no_price(world: World) -> None:
    document = with_lines()
    for place in ("/v1/estimates", "/v1/quotes"):
        assert faults_of(world.post(place, document, "price")) == {
            "/jobs/0/lines/0/unit_price": "price_by_hand",
            "/jobs/0/lines/1/unit_price": "price_by_hand",
        }
    del document["jobs"][0]["lines"]
    assert world.post("/v1/quotes", document, "price").status_code == 201


def test_every_fault_is_named_by_its_place(world: World) -> None:
    document = job()
    document["lines"] = [
        {"service": "polish"},
        {"service": "delivery", "unit_price": "3"},
        {"description": "x", "unit_price": "-1"},
        {"service": "delivery", "minutes": "3"},
        {"service": "delivery", "quantity": "0"},
    ]
    found = faults_of(world.post("/v1/estimates", document))
    assert found == {
        "/lines/1/unit_price": "bad_value",
        "/lines/2/unit_price": "bad_number",
        "/lines/3/minutes": "unknown_field",
        "/lines/4/quantity": "bad_value",
    }
    document["lines"] = [{"service": "polish"}]
    found = faults_of(world.post("/v1/estimates", document))
    assert found == {"/lines/0/service": "unknown_service"}
