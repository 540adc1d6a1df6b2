"""Reports reconcile with the quotes they sum: to the cent, on both databases, at any instant."""

from __future__ import annotations

import csv
import io
import json
import shutil
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.persistence.events.tables import events
from tests.api.contract.shapes import wrong
from tests.api.demo_copies import START
from tests.api.reports.shop_weeks import (
    ANY,
    FRAMED,
    GLASS,
    Told,
    Weeks,
    between,
    on,
    sold_between,
    total,
)
from tests.api.world import World, make_world, problem_of

FIRST = on(START)
LAST = FIRST + timedelta(days=90)
SHAPES = {
    "sales": "SalesReport",
    "sales-by-component": "SalesByComponentReport",
    "sales-by-item": "SalesByItemReport",
    "margins": "MarginsReport",
    "materials": "MaterialsReport",
    "labour": "LabourReport",
    "spoiled": "SpoiledReport",
    "cutting": "CuttingReport",
    "overdue": "OverdueReport",
    "purchases": "PurchasesReport",
    "price-list-drift": "PriceListDriftReport",
}
SPANNED = tuple(SHAPES)[:8]


def report(world: World, name: str, scope: str = "reports", **asked: str) -> dict[str, Any]:
    query = "&".join(f"{key.rstrip('_')}={value}" for key, value in asked.items())
    answer = world.ask("GET", f"/v1/reports/{name}?{query}", scope)
    assert answer.status_code == 200, answer.get_json()
    document: dict[str, Any] = answer.get_json()
    assert wrong(SHAPES[name], document) == []
    return document


def days(period: str = "day") -> dict[str, str]:
    return {"from_": FIRST.isoformat(), "to": LAST.isoformat(), "period": period}


def check_sales(world: World, quotes: list[Told], period: str) -> None:
    sales = report(world, "sales", **days(period))
    for row in sales["rows"]:
        first, last = date.fromisoformat(row["from"]), date.fromisoformat(row["to"])
        mine = [t for t in quotes if t.shown["currency"] == row["currency"]]
        made, sold = between(mine, first, last), sold_between(mine, first, last)
        assert row["made"] == len(made)
        assert Decimal(row["made_total"]) == total(made)
        for state in ("draft", "issued", "declined", "expired", "withdrawn"):
            assert row[state] == sum(t.shown["status"] == state for t in made)
        given = [t for t in made if t.given and t.shown["status"] != "withdrawn"]
        assert row["given"] == len(given)
        taken = sum(t.shown["status"] in ("accepted", "in_work", "done") for t in made)
        assert row["accepted"] == taken
        assert row["sold"] == len(sold)
        assert Decimal(row["sold_total"]) == total(sold)
        assert Decimal(row["sold_tax"]) == total(sold, "tax")
        assert Decimal(row["sold_net"]) == total(sold) - total(sold, "tax")
    for row in sales["totals"]:
        mine = [t for t in quotes if t.shown["currency"] == row["currency"]]
        assert row["made"] == len(mine)
        assert Decimal(row["made_total"]) == total(mine)
        assert Decimal(row["sold_total"]) == total(t for t in mine if t.sold)
    shown = sum(row["made"] for row in sales["rows"])
    assert shown == len(quotes)


def check_parts(world: World, quotes: list[Told]) -> None:
    sold = [t for t in quotes if t.sold]
    nets: dict[str, Decimal] = {"USD": Decimal(0)}
    for told in sold:
        code = told.shown["currency"]
        net = total([told]) - total([told], "tax")
        nets[code] = nets.get(code, Decimal(0)) + net
    found: dict[tuple[str, str], Decimal] = {}
    for name in ("sales-by-component", "sales-by-item"):
        parts = report(world, name, **days("week"))
        assert {t["currency"]: Decimal(t["net"]) for t in parts["totals"]} == nets
        sums: dict[tuple[str, str], Decimal] = {}
        for row in parts["rows"]:
            key = row["currency"], row["component"]
            sums[key] = sums.get(key, Decimal(0)) + Decimal(row["net"])
        found = found or sums
        assert sums == found
    plain: dict[tuple[str, str], Decimal] = {}
    for told in sold:
        if Decimal(told.shown["totals"]["discount"]):
            return  # how a discount is shared is for the domain's own tests
        for job in told.shown["jobs"]:
            for line in job["lines"]:
                key = told.shown["currency"], line["component"]
                plain[key] = plain.get(key, Decimal(0)) + Decimal(line["amount"])
    assert found == plain


def check_materials(world: World, quotes: list[Told]) -> None:
    used: dict[tuple[str, str], Decimal] = {}
    for told in quotes:
        for job in told.shown["jobs"] if told.sold else ():
            for use in job["materials"]:
                key = use["item"], use["basis"]
                used[key] = used.get(key, Decimal(0)) + Decimal(use["quantity"])
    materials = report(world, "materials", **days("month"))
    assert {(t["item"], t["basis"]): Decimal(t["quantity"]) for t in materials["totals"]} == used
    rows: dict[tuple[str, str], Decimal] = {}
    for row in materials["rows"]:
        key = row["item"], row["basis"]
        rows[key] = rows.get(key, Decimal(0)) + Decimal(row["quantity"])
    assert rows == used


def check_margins(world: World, quotes: list[Told]) -> None:
    margins = report(world, "margins", **days("week"))
    sold = [t for t in quotes if t.sold]
    own = [t for t in sold if t.shown["currency"] == "USD"]
    known = [t for t in own if t.shown["costs"]["cost"] is not None]
    row = next(t for t in margins["totals"] if t["currency"] == "USD")
    assert (row["sold"], row["reckoned"]) == (len(own), len(known))
    cost = sum((Decimal(t.shown["costs"]["cost"]) for t in known), Decimal(0))
    net = total(known) - total(known, "tax")
    assert (Decimal(row["cost"]), Decimal(row["net"])) == (cost, net)
    assert Decimal(row["earned"]) == net - cost
    for other in margins["totals"]:
        if other["currency"] != "USD":
            assert (other["reckoned"], other["margin"]) == (0, None)


def check_all(world: World, quotes: list[Told]) -> None:
    for period in ("day", "week", "month"):
        check_sales(world, quotes, period)
    check_parts(world, quotes)
    check_materials(world, quotes)
    check_margins(world, quotes)


def everything(world: World, at: datetime) -> dict[str, Any]:
    """Every report that can be asked for as it was at an instant."""
    as_of = at.isoformat().replace("+00:00", "Z")
    found = {name: report(world, name, as_of=as_of, **days("week")) for name in SPANNED}
    return found | {"overdue": report(world, "overdue", as_of=as_of)}


def lived(world: World, seed: int, steps: int) -> None:
    weeks = Weeks(world, Random(seed))
    kept: list[tuple[datetime, list[Told], dict[str, Any]]] = []
    for _ in range(2):
        weeks.live(steps)
        check_all(world, weeks.kept())
        kept.append((world.clock(), weeks.kept(), everything(world, world.clock())))
        world.clock.move(hours=1)
    world.clock.move(days=31)  # open quotes expire; that changes no earlier figure
    check_all(world, weeks.kept())
    for at, _, told in kept:
        assert everything(world, at) == told


def test_reports_are_the_sums_of_the_quotes(world: World) -> None:
    lived(world, seed=7, steps=18)


@settings(
    max_examples=2, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**32))
def test_whatever_happens_in_the_shop(migrated_sqlite: Path, tmp_path: Path, seed: int) -> None:
    place = tmp_path / f"{seed}.sqlite3"
    shutil.copyfile(migrated_sqlite, place)
    world = make_world(f"sqlite:///{place}")
    try:
        lived(world, seed, steps=10)
    finally:
        world.wiring.close()


def accepted(world: World, *jobs: Any, **more: Any) -> dict[str, Any]:
    quote = world.post("/v1/quotes", {"jobs": list(jobs), **more}, "admin").get_json()
    taken = world.ask("POST", f"/v1/quotes/{quote['id']}/accept", "admin", headers=ANY)
    assert taken.status_code == 200, taken.get_json()
    document: dict[str, Any] = taken.get_json()
    return document


def press(world: World, ticket: str, action: str, **more: Any) -> None:
    answer = world.ask("POST", f"/v1/cut-tickets/{ticket}/{action}", "bench", headers=ANY, **more)
    assert answer.status_code == 200, answer.get_json()


def test_a_quote_whose_events_are_forgotten_is_still_counted(world: World) -> None:
    quote = world.post("/v1/quotes", {"jobs": [GLASS]}, "admin").get_json()
    before = world.clock().isoformat().replace("+00:00", "Z")
    world.clock.move(minutes=5)
    world.ask("POST", f"/v1/quotes/{quote['id']}/decline", "admin", headers=ANY)
    (then,) = report(world, "sales", as_of=before)["totals"]
    assert (then["made"], then["issued"], then["declined"]) == (1, 1, 0)
    with world.wiring.engine.begin() as connection:
        connection.execute(events.delete())
    (then,) = report(world, "sales", as_of=before)["totals"]
    assert (then["made"], then["issued"], then["declined"]) == (1, 0, 1)
    assert then["made_total"] == quote["totals"]["total"]


def test_a_days_edge_is_the_shops(world: World) -> None:
    """03:30 UTC is still the evening before in New York."""
    world.clock.now = datetime.fromisoformat("2026-11-28T03:30:00+00:00")
    accepted(world, GLASS)
    world.clock.move(hours=2)
    rows = report(world, "sales", from_="2026-11-27", to="2026-11-28")["rows"]
    assert [(row["from"], row["made"], row["sold"]) for row in rows] == [
        ("2026-11-27", 1, 1),
        ("2026-11-28", 0, 0),
    ]


def test_weeks_and_months_are_cut_off_where_the_days_asked_for_end(still_world: World) -> None:
    weeks = report(still_world, "sales", from_="2026-11-25", to="2026-12-08", period="week")
    assert [(row["from"], row["to"]) for row in weeks["rows"]] == [
        ("2026-11-25", "2026-11-29"), ("2026-11-30", "2026-12-06"), ("2026-12-07", "2026-12-08"),
    ]  # fmt: skip
    months = report(still_world, "margins", from_="2026-01-31", to="2026-03-01", period="month")
    assert [row["to"] for row in months["rows"]] == ["2026-01-31", "2026-02-28", "2026-03-01"]


def test_labour_and_overdue_tickets(world: World) -> None:
    """Promised for a day, its minutes lie on that day; past it, the ticket is overdue."""
    quote = accepted(world, FRAMED)
    ticket = quote["tickets"][0]["number"]
    minutes = Decimal(world.ask("GET", f"/v1/cut-tickets/{ticket}", "bench").get_json()["minutes"])
    labour = report(world, "labour", "bench")
    assert len(labour["rows"]) == 28
    due = {row["from"]: Decimal(row["due"]) for row in labour["rows"]}
    assert due.pop(quote["promised"]) == minutes
    assert set(due.values()) == {Decimal(0)}
    by_day = {row["from"]: row for row in labour["rows"]}
    assert by_day["2026-11-26"]["capacity"] == "0"  # closed, by the demo shop's settings
    assert by_day["2026-11-28"]["capacity"] == "300"  # a Saturday there
    for row in labour["rows"][1:]:
        room = sum(Decimal(r["capacity"]) for r in labour["rows"][1:] if r["to"] <= row["to"])
        waiting = minutes if row["to"] >= quote["promised"] else 0
        assert Decimal(row["spare"]) == room - waiting
    assert report(world, "overdue")["rows"] == []
    before = world.clock()
    world.clock.move(days=30)
    (late,) = report(world, "overdue", "counter")["rows"]
    passed = on(world.clock()) - date.fromisoformat(quote["promised"])
    assert (late["ticket"], late["quote"]) == (ticket, quote["number"])
    assert (late["days"], Decimal(late["minutes"])) == (passed.days, minutes)
    press(world, ticket, "start")
    press(world, ticket, "finish")
    assert report(world, "overdue")["rows"] == []
    today = on(world.clock()).isoformat()
    (row,) = report(world, "labour", from_=today, to=today)["rows"]
    assert (Decimal(row["done"]), row["spare"]) == (minutes, None)
    as_of = before.isoformat().replace("+00:00", "Z")
    assert report(world, "labour", "bench", as_of=as_of) == labour


def test_spoiled_pieces_cost_what_a_quote_reckons_for_their_material(world: World) -> None:
    quote = accepted(world, GLASS)
    ticket = quote["tickets"][0]["number"]
    glass = next(
        piece["piece"]
        for piece in world.ask("GET", f"/v1/cut-tickets/{ticket}", "bench").get_json()["pieces"]
        if piece["part"] == "glazing"
    )
    press(world, ticket, f"pieces/{glass}/spoil", json={"reason": "=dropped"})
    (row,) = report(world, "spoiled")["rows"]
    # The job uses nothing but this lite and bench time, so its material is what the lite costs.
    assert row["cost"] == quote["costs"]["jobs"][0]["materials"]
    assert (row["item"], row["size"], row["quantity"]) == ("GLZ-PG20", "8 x 10 in", 1)
    (totals,) = report(world, "spoiled")["totals"]
    assert totals == {"currency": "USD", "quantity": 1, "cost": row["cost"], "unknown": 0}
    answer = world.ask(
        "GET", "/v1/reports/spoiled", "reports", headers={"Accept": "text/csv"}
    ).get_data(as_text=True)
    assert next(csv.DictReader(io.StringIO(answer)))["reason"] == "'=dropped"


def test_what_is_to_be_bought_is_what_is_still_to_be_cut(world: World) -> None:
    """A 40 x 60 in board more in stock is 16 2/3 sq ft less to buy."""
    quote = accepted(world, {**FRAMED, "quantity": 2})
    ticket = quote["tickets"][0]["number"]
    rows = {row["item"]: row for row in report(world, "purchases", "bench")["rows"]}
    package = quote["jobs"][0]["sizes"]["package"]
    sides = [Decimal(package[side]["mm"]) / Decimal("304.8") for side in ("width", "height")]
    backing = rows["BCK-FOAM316"]
    assert abs(Decimal(backing["needed"]) - 2 * sides[0] * sides[1]) <= Decimal("0.0000005")
    assert backing["lacking"] == backing["needed"]
    assert (backing["in_stock"], backing["at_least"], backing["pieces"]) == (None, 1, 2)
    rails = sum(
        Decimal(piece["length"]["in"]) * piece["quantity"]
        for piece in quote["jobs"][0]["cut_list"]
        if piece["part"] == "rail"
    )
    # A blade of 1/8 in crosses the stick at 45 degrees: 1/8 in times the root of 2 a rail.
    sticks = (rails + 8 * 2 * Decimal(2).sqrt() / 16) / 12
    assert abs(Decimal(rows["MLD-OAK125"]["needed"]) - sticks) < Decimal("0.00001")
    supplies = world.ask("GET", f"/v1/cut-tickets/{ticket}", "bench").get_json()["supplies"]
    for supply in supplies:
        assert Decimal(rows[supply["item"]]["needed"]) == Decimal(supply["quantity"])
    sheet = {"width": "40 in", "height": "60 in", "quantity": 3}
    put = world.ask("PUT", "/v1/stock/BCK-FOAM316", "bench", json={"sizes": [sheet]}, headers=ANY)
    assert put.status_code == 200, put.get_json()
    (after,) = (r for r in report(world, "purchases")["rows"] if r["item"] == "BCK-FOAM316")
    assert (after["in_stock"], after["lacking"], after["at_least"]) == ("50", "0", 0)
    press(world, ticket, "start")
    press(world, ticket, "finish")
    assert report(world, "purchases")["rows"] == []


def test_drift_is_what_open_quotes_would_cost_today(world: World) -> None:
    quote = world.post("/v1/quotes", {"jobs": [GLASS]}, "admin").get_json()
    accepted(world, GLASS)
    (row,) = report(world, "price-list-drift")["rows"]
    assert (row["quote"], row["difference"], row["percent"]) == (quote["number"], "0.00", "0")
    body = world.ask("GET", "/v1/price-lists/2026-autumn", "admin").get_json()
    dearer = {n: body[n] for n in ("currency", "quantity_breaks", "rules") if n in body}
    for rule in dearer["rules"]:
        if rule["method"] == "rate" and rule["component"] == "labour":
            rule["rate"] = str(2 * Decimal(rule["rate"]))
    dearer |= {"code": "2026-dear", "first_day": "2026-11-25"}
    made = world.post("/v1/price-lists", dearer, "admin")
    assert made.status_code == 201, made.get_json()
    world.ask("POST", "/v1/price-lists/2026-dear/publish", "admin", headers=ANY)
    world.clock.move(minutes=1)
    now = world.post("/v1/estimates", {"jobs": [GLASS]}, "admin").get_json()
    drift = report(world, "price-list-drift")
    (row,) = drift["rows"]
    assert (row["price_list"], row["before"]) == ("2026-dear", quote["totals"]["total"])
    assert row["after"] == now["totals"]["total"]
    (totals,) = drift["totals"]
    assert {n: totals[n] for n in ("before", "after")} == {n: row[n] for n in ("before", "after")}
    assert Decimal(row["difference"]) == Decimal(row["after"]) - Decimal(row["before"])


def test_a_csv_file_begins_with_a_byte_order_mark_on_request(world: World) -> None:
    """Unicode 23.8: U+FEFF at the beginning, EF BB BF in UTF-8."""
    form, path = {"Accept": "text/csv"}, "/v1/reports/sales"
    plain = world.ask("GET", path, "reports", headers=form).get_data()
    marked = world.ask("GET", f"{path}?bom=yes", "reports", headers=form).get_data()
    assert marked == b"\xef\xbb\xbf" + plain
    assert world.ask("GET", f"{path}?bom=maybe", "reports", headers=form).status_code == 400


@pytest.mark.parametrize("name", SHAPES)
def test_a_csv_file_has_the_rows_of_the_json(world: World, name: str) -> None:
    accepted(world, FRAMED, reference="=HYPERLINK(1)")
    world.post("/v1/quotes", {"jobs": [GLASS], "reference": "@x"}, "admin")
    if name == "cutting":
        body = {"open_tickets": True, "dry_run": False}
        plan = world.post("/v1/cutting-plans", body, "bench").get_json()
        done = world.ask("POST", f"/v1/cutting-plans/{plan['id']}/commit", "bench", headers=ANY)
        assert done.status_code == 200, done.get_json()
    if name in ("overdue", "spoiled"):
        tickets = world.ask("GET", "/v1/cut-tickets", "bench").get_json()["items"]
        press(world, tickets[0]["number"], "pieces/1/spoil", json={"reason": "+ was blunt"})
        world.clock.move(days=40)
    asked = {"from": "2026-11-01", "to": "2027-01-31"} if name in SPANNED else {}
    query = "&".join(f"{k}={v}" for k, v in asked.items())
    rows = world.ask("GET", f"/v1/reports/{name}?{query}", "reports").get_json()["rows"]
    answer = world.ask(
        "GET", f"/v1/reports/{name}?{query}", "reports", headers={"Accept": "text/csv"}
    )
    assert answer.content_type == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"].endswith('.csv"')
    text = answer.get_data(as_text=True)
    found = list(csv.DictReader(io.StringIO(text)))
    assert rows
    for cells, row in zip(found, rows, strict=True):
        assert list(cells) == list(row)
        for column, cell in cells.items():
            assert not cell.startswith(("=", "@", "+"))
            assert cell.removeprefix("'") == ("" if row[column] is None else str(row[column]))


def test_a_report_takes_few_statements_however_much_there_is(world: World) -> None:
    for _ in range(3):
        accepted(world, GLASS, FRAMED)
        world.post("/v1/quotes", {"jobs": [FRAMED]}, "admin")
    report(world, "sales")  # notes the use of the key and reads the shop's book, once
    for name in SHAPES:
        with world.statements() as seen:
            report(world, name)
        asked = [one for one in seen if not one.startswith("BEGIN")]
        assert len(asked) <= 7, (name, asked)


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("from=2026-02-30", "from"),
        ("to=yesterday", "to"),
        ("from=2026-11-02&to=2026-11-01", "to"),
        ("period=year", "period"),
        ("from=2020-01-01&to=2026-11-01&period=day", "period"),
        ("as_of=2027-01-01", "as_of"),
        ("as_of=now", "as_of"),
        ("from=2026-11-01&from=2026-11-02", "from"),
        ("from=9999-12-01&to=9999-12-31", "from"),
        ("until=2026-11-01", "until"),
        ("bom=maybe", "bom"),
    ],
)
def test_what_makes_no_sense_is_named(still_world: World, query: str, parameter: str) -> None:
    answer = still_world.ask("GET", f"/v1/reports/sales?{query}", "reports")
    document = problem_of(answer, 400, "bad_parameter")
    assert [fault["parameter"] for fault in document["errors"]] == [parameter]


def test_drift_looks_at_no_more_than_it_says(still_world: World) -> None:
    for text in ("0", "2001", "x", "-1", "1e3"):
        answer = still_world.ask("GET", f"/v1/reports/price-list-drift?limit={text}", "reports")
        problem_of(answer, 400, "bad_parameter")


def test_money_is_for_the_office_and_the_forms_are_named(still_world: World) -> None:
    for name in ("sales", "sales-by-item", "margins", "spoiled", "price-list-drift"):
        problem_of(still_world.ask("GET", f"/v1/reports/{name}", "counter"), 403, "not_allowed")
    answer = still_world.ask(
        "GET", "/v1/reports/sales", "reports", headers={"Accept": "application/pdf"}
    )
    problem_of(answer, 406, "not_acceptable")
    assert json.loads(
        still_world.ask("GET", "/v1/reports/sales", "admin").get_data()
    )["totals"][0]["made"] == 0  # fmt: skip
