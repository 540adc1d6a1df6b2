"""Coupons over HTTP: stored, applied, used by two tills at once, given back, and refused.

The order of discounts, the half-up cent and that the last use is taken once are the rules of the
service; that coupons have a last day, a least order and a limit is common practice, no source.
"""

from __future__ import annotations

from base64 import urlsafe_b64encode
from concurrent.futures import ThreadPoolExecutor
from decimal import ROUND_HALF_UP, Decimal
from threading import Barrier
from typing import Any

import pytest
from werkzeug.test import TestResponse

from service.api.application import create_app
from service.domain.errors import Conflict
from service.wiring import wire
from tests.api.test_customers import read
from tests.api.test_customers import stored as stored_customer
from tests.api.world import World, faults_of, job, problem_of

PLACE = "/v1/coupons"
TENTH = {"code": "Autumn-26", "description": "Autumn, a tenth off", "percent": "10"}
CENT = Decimal("0.01")


def made(world: World, **more: Any) -> dict[str, Any]:
    document = {**TENTH, **more}
    return read(world.ask("POST", PLACE, "admin", json=document), 201)


def estimate(world: World, coupon: str, scope: str = "counter", **more: Any) -> TestResponse:
    return world.ask("POST", "/v1/estimates", scope, json={**job(), "coupon": coupon, **more})


def quoted(world: World, **more: Any) -> dict[str, Any]:
    return read(world.ask("POST", "/v1/quotes", "counter", json={**job(), **more}), 201)


def step(world: World, quote: dict[str, Any], verb: str, client: Any = None) -> TestResponse:
    path = f"/v1/quotes/{quote['id']}"
    seen = world.ask("GET", path).headers["ETag"]
    headers = {"If-Match": seen, "Authorization": f"Bearer {world.tokens['counter']}"}
    answer: TestResponse = (client or world.client).post(f"{path}/{verb}", headers=headers)
    return answer


def uses(world: World, code: str = "AUTUMN-26") -> int:
    return int(read(world.ask("GET", f"{PLACE}/{code}"))["uses"])


def goods_of(document: dict[str, Any]) -> Decimal:
    apart = ("fee", "service", "sundry")
    lines = [line for each in document["jobs"] for line in each["lines"]]
    return sum((Decimal(x["amount"]) for x in lines if x["component"] not in apart), Decimal(0))


def test_a_list_of_coupons_is_read_page_by_page(world: World) -> None:
    codes = ["SPRING 1", "FRÜHLING", "SPRING 2", "SPRING 3", "SPRING 4"]
    for code in codes:
        made(world, code=code)
        world.clock.move(seconds=1)
    seen, query = list[str](), "?limit=2"
    while query:
        page = read(world.ask("GET", f"{PLACE}{query}"))
        seen += [coupon["code"] for coupon in page["items"]]
        query = f"?limit=2&cursor={page['next']}" if page["next"] else ""
    assert [code for code in seen if code in codes] == codes[::-1]
    for place in ("2026-11-25T18:00:00+00:00 a\0b", "2026-11-25T18:00:00+00:00 ", "QUAY10"):
        cursor = urlsafe_b64encode(place.encode()).decode().rstrip("=")
        problem_of(world.ask("GET", f"{PLACE}?cursor={cursor}"), 400, "bad_parameter")


def test_a_coupon_is_stored_checked_and_read(world: World) -> None:
    coupon = made(world)
    assert coupon["code"] == "AUTUMN-26"
    assert (coupon["uses"], coupon["stopped"], coupon["version"]) == (0, False, 1)
    assert read(world.ask("GET", f"{PLACE}/autumn-26", "counter")) == coupon
    assert coupon in read(world.ask("GET", PLACE, "counter"))["items"]
    problem_of(
        world.ask("POST", PLACE, "admin", json={**TENTH, "code": "AUTUMN-26"}), 409, "conflict"
    )
    assert world.ask("POST", PLACE, "counter", json=TENTH).status_code == 403
    assert world.ask("GET", f"{PLACE}/nothing", "counter").status_code == 404


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"amount": "5"}, "/percent"),
        ({"percent": None}, "/percent"),
        ({"percent": "0"}, "/percent"),
        ({"percent": "101"}, "/percent"),
        ({"percent": None, "amount": "5"}, "/currency"),
        ({"minimum_order": "100"}, "/currency"),
        ({"percent": None, "amount": "5.005", "currency": "USD"}, "/amount"),
        ({"first_day": "2026-12-02", "last_day": "2026-12-01"}, "/last_day"),
        ({"components": ["fee"]}, "/components/0"),
        ({"most_uses": 0}, "/most_uses"),
        ({"colour": "red"}, "/colour"),
    ],
)
def test_a_coupon_that_makes_no_sense_is_refused(
    world: World, wrong: dict[str, Any], pointer: str
) -> None:
    document = {**TENTH, **wrong}
    assert pointer in faults_of(world.ask("POST", PLACE, "admin", json=document))


def test_a_percentage_is_taken_off_the_goods_after_all_other_discounts(world: World) -> None:
    made(world)
    plain = read(world.ask("POST", "/v1/estimates", "counter", json=job()))
    by_hand = [{"reason": "returning", "amount": "20"}]
    done = read(estimate(world, " autumn-26 ", discounts=by_hand))
    base = goods_of(plain) - 20
    off = (base / 10).quantize(CENT, ROUND_HALF_UP)
    last = done["totals"]["discounts"][-1]
    assert last == {
        "reason": "Autumn, a tenth off",
        "percent": "10",
        "coupon": "AUTUMN-26",
        "base": str(base),
        "amount": str(off),
    }
    assert Decimal(done["totals"]["discount"]) == Decimal(plain["totals"]["discount"]) + 20 + off
    assert done["jobs"] == plain["jobs"]


def test_some_components_an_amount_and_no_more_than_there_is(world: World) -> None:
    made(world, code="glass", components=["glazing"])
    made(world, code="gift", percent=None, amount="5000", currency="USD")
    plain = read(world.ask("POST", "/v1/estimates", "counter", json=job()))
    glazing = [x for x in plain["jobs"][0]["lines"] if x["component"] == "glazing"]
    base = sum((Decimal(x["amount"]) for x in glazing), Decimal(0))
    told = read(estimate(world, "glass"))["totals"]["discounts"][0]
    assert (told["base"], told["components"]) == (str(base), ["glazing"])
    assert told["amount"] == str((base / 10).quantize(CENT, ROUND_HALF_UP))
    all_off = read(estimate(world, "gift"))["totals"]["discounts"][0]
    assert all_off["amount"] == all_off["base"] == str(goods_of(plain))
    made(world, code="fillets", components=["fillet"])
    assert faults_of(estimate(world, "fillets")) == {"/coupon": "coupon_without_effect"}


def test_a_coupon_that_is_not_taken_says_why(world: World) -> None:
    today = "2026-11-25"
    made(world, code="early", first_day="2026-11-26")
    made(world, code="late", last_day="2026-11-24")
    made(world, code="just", first_day=today, last_day=today)
    made(world, code="large", minimum_order="10000", currency="USD")
    made(world, code="yen", percent=None, amount="500", currency="JPY")
    refused = {
        "nobody": "unknown_coupon",
        "early": "coupon_not_valid",
        "late": "coupon_not_valid",
        "large": "coupon_below_minimum",
        "yen": "coupon_not_valid",
    }
    for scope in ("counter", "price"):
        for code, fault in refused.items():
            assert faults_of(estimate(world, code, scope)) == {"/coupon": fault}, code
            for_quote = world.ask("POST", "/v1/quotes", scope, json={**job(), "coupon": code})
            assert faults_of(for_quote) == {"/coupon": fault}
        read(estimate(world, "just", scope))
    problem = problem_of(estimate(world, "large"), 422, "job_refused")
    assert "is for orders from 10000.00 on" in problem["errors"][0]["detail"]


def test_the_least_order_is_met_to_the_cent(world: World) -> None:
    goods = goods_of(read(world.ask("POST", "/v1/estimates", "counter", json=job())))
    made(world, code="just", minimum_order=str(goods), currency="USD")
    made(world, code="over", minimum_order=str(goods + CENT), currency="USD")
    read(estimate(world, "just"))
    assert faults_of(estimate(world, "over")) == {"/coupon": "coupon_below_minimum"}


def test_a_quote_keeps_its_coupon_and_explains_it(world: World) -> None:
    coupon = made(world)
    quote = quoted(world, coupon="autumn-26")
    assert quote["totals"]["discounts"][0]["coupon"] == "AUTUMN-26"
    rows = read(world.ask("GET", f"/v1/quotes/{quote['id']}/workings"))["workings"]
    row = next(each for each in rows if each["figure"] == "/totals/discounts/0/amount")
    assert row["formula"] == "half_up(base * percent / 100, 0.01)"
    assert all("now" not in each for each in rows)
    stopped = {"If-Match": f'"{coupon["version"]}"'}
    read(world.ask("POST", f"{PLACE}/autumn-26/stop", "admin", headers=stopped))
    assert faults_of(estimate(world, "autumn-26")) == {"/coupon": "coupon_not_valid"}
    world.clock.move(hours=1)
    read(step(world, quote, "accept"))
    assert uses(world) == 1


def test_a_use_counts_when_accepted_and_is_given_back(world: World) -> None:
    made(world, most_uses=1)
    one, other = quoted(world, coupon="autumn-26"), quoted(world, coupon="autumn-26")
    assert uses(world) == 0
    read(step(world, one, "accept"))
    assert uses(world) == 1
    assert faults_of(estimate(world, "autumn-26")) == {"/coupon": "coupon_used_up"}
    late = problem_of(step(world, other, "accept"), 409, "conflict")
    assert "used up" in late["detail"]
    assert read(world.ask("GET", f"/v1/quotes/{other['id']}"))["status"] == "issued"
    read(step(world, one, "withdraw"))
    assert uses(world) == 0
    read(step(world, other, "accept"))
    assert uses(world) == 1
    feed = read(world.ask("GET", "/v1/events", "admin"))["items"]
    kinds = [each["kind"] for each in feed if each["subject"] == "coupon"]
    assert kinds == ["coupon.created", "coupon.used", "coupon.given_back", "coupon.used"]


def test_of_two_tills_one_takes_the_last_use(world: World) -> None:
    """Two nodes, each with its own connections, accept two quotes with the coupon's last use."""
    made(world, most_uses=3)
    for _ in range(2):
        read(step(world, quoted(world, coupon="autumn-26"), "accept"))
    both = [quoted(world, coupon="autumn-26") for _ in range(2)]
    nodes = [
        wire(world.wiring.settings, world.clock, monotonic=world.clock.monotonic) for _ in both
    ]
    gate = Barrier(2)
    seen = [world.ask("GET", f"/v1/quotes/{quote['id']}").headers["ETag"] for quote in both]

    def accept(at: int) -> int:
        client = create_app(nodes[at]).test_client()
        headers = {"If-Match": seen[at], "Authorization": f"Bearer {world.tokens['counter']}"}
        gate.wait()
        path = f"/v1/quotes/{both[at]['id']}/accept"
        return int(client.post(path, headers=headers).status_code)

    with ThreadPoolExecutor(2) as tills:
        assert sorted(tills.map(accept, range(2))) == [200, 409]
    for node in nodes:
        node.close()
    assert uses(world) == 3
    states = [read(world.ask("GET", f"/v1/quotes/{quote['id']}"))["status"] for quote in both]
    assert sorted(states) == ["accepted", "issued"]
    tickets = read(world.ask("GET", "/v1/cut-tickets", "bench"))["items"]
    assert len(tickets) == 3


def test_a_customer_has_it_once_and_another_too(world: World) -> None:
    made(world, most_uses_each=1)
    one, other = stored_customer(world), stored_customer(world, name="Nuno Tavares")
    first, second = (quoted(world, coupon="autumn-26", customer_id=one["id"]) for _ in range(2))
    read(step(world, first, "accept"))
    problem_of(step(world, second, "accept"), 409, "conflict")
    assert uses(world) == 1
    again = estimate(world, "autumn-26", customer_id=one["id"])
    assert faults_of(again) == {"/coupon": "coupon_used_up"}
    read(estimate(world, "autumn-26", customer_id=other["id"]))
    read(estimate(world, "autumn-26"))


def test_a_change_of_order_keeps_the_coupon_or_gives_it_back(world: World) -> None:
    made(world, most_uses=1)
    quote = quoted(world, coupon="autumn-26")
    accepted = step(world, quote, "accept")
    world.clock.move(hours=1)

    def revise(answer: TestResponse, document: dict[str, Any]) -> TestResponse:
        path = f"/v1/quotes/{quote['id']}/revisions"
        headers = {"If-Match": answer.headers["ETag"]}
        return world.ask("POST", path, "counter", json=document, headers=headers)

    again = revise(accepted, {**job(), "coupon": "AUTUMN-26", "reference": "changed"})
    assert read(again, 201)["totals"]["discounts"][0]["coupon"] == "AUTUMN-26"
    assert uses(world) == 1
    without = revise(again, job())
    assert "discounts" not in read(without, 201)["totals"]
    assert uses(world) == 0


def test_of_two_who_change_a_coupon_the_second_is_told(world: World) -> None:
    coupon = made(world)
    seen = {"If-Match": '"1"'}
    sent = {**coupon, "percent": "15"}
    changed = read(world.ask("PUT", f"{PLACE}/Autumn-26", "admin", json=sent, headers=seen))
    assert (changed["percent"], changed["version"]) == ("15", 2)
    late = world.ask("PUT", f"{PLACE}/autumn-26", "admin", json=coupon, headers=seen)
    problem_of(late, 412, "stale")
    other = {**coupon, "code": "other"}
    now = {"If-Match": '"2"'}
    refused = world.ask("PUT", f"{PLACE}/autumn-26", "admin", json=other, headers=now)
    assert faults_of(refused) == {"/code": "bad_value"}


def test_a_public_form_may_name_a_coupon_and_no_discount(world: World) -> None:
    made(world)
    read(estimate(world, "autumn-26", "price"))
    by_hand = [{"reason": "please", "percent": "1"}]
    both = estimate(world, "autumn-26", "price", discounts=by_hand)
    assert faults_of(both) == {"/discounts/0": "discount_limit"}
    line = world.ask(
        "POST",
        "/v1/estimates/bulk",
        "counter",
        data='{"jobs":[],"coupon":"autumn-26"}',
        content_type="application/x-ndjson",
    )
    assert line.status_code == 200


def test_the_statement_alone_lets_one_take_the_last_use(world: World) -> None:
    """Without the turn that acceptances of a shop take, too: the count and its limit are one."""
    made(world, most_uses=1)
    both = [quoted(world) for _ in range(2)]
    gate = Barrier(2)

    def use(at: int) -> bool:
        gate.wait()
        with world.wiring.units.writing() as uow:
            try:
                uow.coupons.use(world.shop_id, "AUTUMN-26", both[at]["id"], world.clock())
            except Conflict:
                return False
            uow.commit()
            return True

    with ThreadPoolExecutor(2) as tills:
        assert sorted(tills.map(use, range(2))) == [False, True]
    assert uses(world) == 1
