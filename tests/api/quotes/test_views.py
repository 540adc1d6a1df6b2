"""Stored quotes: made, found, listed, explained, and the same for ever."""

from __future__ import annotations

import json
from base64 import urlsafe_b64encode
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any
from urllib.parse import quote as quoted

import pytest

from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.materials.catalogue import ItemCost, Moulding
from service.domain.prices.lists import PriceList
from tests.api.world import World, job, problem_of

QUOTES = "/v1/quotes"


def _create(world: World, name: str = "harbour_etching", **changes: Any) -> dict[str, Any]:
    answer = world.post(QUOTES, {**job(name), **changes})
    assert answer.status_code == 201, answer.get_json()
    document: dict[str, Any] = answer.get_json()
    return document


@pytest.mark.parametrize("name", sorted(demo_jobs()))
def test_a_quote_is_what_its_estimate_was_and_is_found_again(world: World, name: str) -> None:
    estimate = world.post("/v1/estimates", job(name)).get_json()
    answer = world.post(QUOTES, job(name))
    assert answer.status_code == 201
    made = answer.get_json()
    for part, value in estimate.items():
        assert made[part] == value
    assert made["customer"] == job(name)["customer"]
    assert made["reference"] == job(name)["reference"]
    by_place = world.ask("GET", answer.headers["Location"]).get_data()
    by_number = world.ask("GET", f"{QUOTES}/{made['number']}").get_data()
    assert by_place == by_number == answer.get_data()


def test_a_number_is_read_as_people_write_it_and_a_slip_finds_nothing(world: World) -> None:
    made = _create(world)
    _create(world)
    assert made["number"] == "Q100014"
    for written in ("q100014", "Q 1000 14", "Q-1000-14", "QlOOOl4"):
        answer = world.ask("GET", f"{QUOTES}/{quoted(written)}")
        assert answer.get_json()["id"] == made["id"], written
    for position in range(1, 7):
        for digit in "0123456789":
            slip = made["number"][:position] + digit + made["number"][position + 1 :]
            if slip in (made["number"], "Q000014"):
                continue
            answer = world.ask("GET", f"{QUOTES}/{slip}")
            problem_of(answer, 404, "not_found")
    misread = problem_of(world.ask("GET", f"{QUOTES}/Q100041"), 404, "not_found")
    assert "misread" in misread["detail"]


@pytest.mark.parametrize(
    "name", ["%00", "a%00b", "%FF", "%ED%A0%80", "x" * 3_000, "Q" + "1" * 60, "Q%F0%9D%9F%8F00014"]
)
def test_names_that_are_none_are_not_found(world: World, name: str) -> None:
    for rest in ("", "/workings"):
        problem_of(world.ask("GET", f"{QUOTES}/{name}{rest}"), 404, "not_found")


def _walk(world: World, query: str) -> list[str]:
    """The numbers of all pages, by their links."""
    numbers: list[str] = []
    place: str | None = f"{QUOTES}?{query}"
    while place:
        answer = world.ask("GET", place)
        page = answer.get_json()
        numbers += [row["number"] for row in page["items"]]
        link = answer.headers.get("Link")
        assert (link is None) == (page["next"] is None)
        place = None
        if link is not None:
            target, relation = link.split("; ")
            assert relation == 'rel="next"'
            place = target.strip("<>")
            assert place.startswith(f"{QUOTES}?")
    return numbers


def test_pages_show_every_quote_once_while_more_arrive(world: World) -> None:
    made = []
    for at in range(7):
        made.append(_create(world)["number"])
        if at % 3 == 0:  # some share their instant
            world.clock.move(seconds=1)
    made.reverse()
    assert _walk(world, "limit=2") == made
    assert _walk(world, "") == made
    first = world.ask("GET", f"{QUOTES}?limit=3").get_json()
    _create(world)
    second = world.ask("GET", f"{QUOTES}?limit=3&cursor={first['next']}").get_json()
    assert [row["number"] for row in first["items"] + second["items"]] == made[:6]


def test_filters_and_that_they_hold_through_the_pages(world: World) -> None:
    world.clock.move(hours=-36)
    early = _create(world, reference="A 1/2&x=3")["number"]
    world.clock.move(hours=36)
    draft = world.post(QUOTES, job(), "price").get_json()["number"]
    late = [_create(world, reference="A 1/2&x=3")["number"] for _ in range(3)][::-1]
    reference = quoted("A 1/2&x=3", safe="")
    assert _walk(world, f"reference={reference}&limit=1") == [*late, early]
    assert _walk(world, "status=draft") == [draft]
    assert _walk(world, "status=issued&limit=2") == [*late, early]
    assert _walk(world, "created_from=2026-11-25&limit=2") == [*late, draft]
    assert _walk(world, "created_to=2026-11-25") == [early]
    assert _walk(world, "created_to=2026-11-25T15:04:05Z") == [early]  # the instant is left out
    assert _walk(world, "created_from=2026-11-25T10:04:05-05:00") == [*late, draft]
    assert _walk(world, "created_from=2026-11-25T16:04:05+01:00") == [*late, draft]  # a bare plus
    assert _walk(world, "updated_since=2026-11-25T15:04:05.000001Z") == []
    assert _walk(world, "reference=a%201/2%26x=3") == []  # exactly, case and all


def test_a_days_first_moment_is_the_shops(world: World) -> None:
    # 2026-11-25 begins at 05:00 UTC in New York (UTC-5, standard time: tzdata).
    world.clock.now = world.clock.now.replace(hour=4, minute=59, second=59)
    before = _create(world)
    world.clock.move(seconds=1)
    after = _create(world)
    assert _walk(world, "created_from=2026-11-25") == [after["number"]]
    assert _walk(world, "created_to=2026-11-25") == [before["number"]]
    assert before["valid_until"] == "2026-12-24"  # thirty days after the 24th, there
    assert after["valid_until"] == "2026-12-25"


def _cursor(text: str) -> str:
    return urlsafe_b64encode(text.encode()).decode().rstrip("=")


ID = "019abcde-f000-7000-8000-000000000003"
BAD_QUERIES = {
    "limit=0": "limit",
    "limit=201": "limit",
    "limit=-1": "limit",
    "limit=1.5": "limit",
    "limit=": "limit",
    "limit=%C2%B2": "limit",
    "limit=" + "9" * 5_000: "limit",
    "limit=1&limit=2": "limit",
    "status=open": "status",
    "status=": "status",
    "status=draft&status=issued": "status",
    "created_from=yesterday": "created_from",
    "created_from=2026-02-30": "created_from",
    "created_from=2026-11-25T15:04:05": "created_from",
    "created_from=2026-11-25T25:04:05Z": "created_from",
    "created_from=2026-11-25T15:04:60Z": "created_from",
    "created_to=20261125": "created_to",
    "created_to=": "created_to",
    "updated_since=2026-11-25T15:04:05%2B99:00": "updated_since",
    "updated_since=9999-99-99": "updated_since",
    "cursor=": "cursor",
    "cursor=nonsense": "cursor",
    "cursor=%C3%A9": "cursor",
    f"cursor={_cursor('2026-11-25T15:04:05+00:00')}": "cursor",
    f"cursor={_cursor('2026-11-25T15:04:05 ' + ID)}": "cursor",
    f"cursor={_cursor('x ' + ID)}": "cursor",
    f"cursor={_cursor('2026-11-25T15:04:05+00:00 ' + ID[:-1])}": "cursor",
    "page=2": "page",
    "%00=1": "[U+0000]",
}


@pytest.mark.parametrize("query", BAD_QUERIES)
def test_a_parameter_that_makes_no_sense_is_named(still_world: World, query: str) -> None:
    document = problem_of(still_world.ask("GET", f"{QUOTES}?{query}"), 400, "bad_parameter")
    assert document["errors"][0]["parameter"] == BAD_QUERIES[query]


@pytest.mark.parametrize(
    "query",
    [
        "reference=%00",
        "reference=a%00b",
        "reference=%FF",
        "reference=%ED%A0%80",
        f"reference={'x' * 5_000}",
        "created_from=0001-01-01",
        "created_to=9999-12-31",
        "updated_since=0001-01-01T00:00:00%2B23:59",
        "created_to=9999-12-31T23:59:59-23:59",
        f"cursor={_cursor('0001-01-01T00:00:00+23:59 ' + ID)}",
        f"cursor={_cursor('9999-12-31T23:59:59-23:59 ' + ID)}",
        f"cursor={_cursor('2026-11-25T15:04:05+00:00 ' + '-' * 36)}",
    ],
)
def test_what_can_be_asked_but_never_found_does_no_harm(world: World, query: str) -> None:
    _create(world)
    answer = world.ask("GET", f"{QUOTES}?{query}")
    if answer.status_code != 200:
        problem_of(answer, 400, "bad_parameter")
    else:
        assert isinstance(answer.get_json()["items"], list)


def _change_everything(world: World) -> None:
    """Another price list, other mouldings, times and settings; as the shop might next spring."""
    prices = demo_price_list()
    dearer = tuple(replace(rule, rate=rule.rate * 2) for rule in prices.rules)
    items = [
        replace(item, face_width=item.face_width + item.face_width, description="another")
        for item in demo_catalogue().items.values()
        if isinstance(item, Moulding)
    ]
    shop = demo_shop()
    standard = demo_labour_standard()
    world.clock.move(days=1)
    with world.wiring.units.writing() as uow:
        later = PriceList("later", prices.currency, date(2026, 11, 26), dearer)
        uow.price_lists.put(world.shop_id, later)
        uow.price_lists.publish(world.shop_id, "later", world.clock())
        uow.catalogue.put(world.shop_id, items, world.clock())
        for item in items:
            cost = ItemCost(item.code, "linear_foot", Fraction(99))
            uow.catalogue.put_costs(world.shop_id, item.code, [cost])
        uow.shops.save(
            world.shop_id, replace(shop, sizing=replace(shop.sizing, allowance=shop.sizing.reveal))
        )
        uow.labour_standards.put(
            world.shop_id,
            replace(standard, code="slow", cost_per_hour=Fraction(1_000)),
            in_use=True,
        )
        uow.commit()


@pytest.mark.parametrize("name", sorted(demo_jobs()))
def test_a_stored_quote_never_changes(world: World, name: str) -> None:
    made = _create(world, name)
    places = [f"{QUOTES}/{made['id']}", f"{QUOTES}/{made['number']}/workings", f"{QUOTES}?limit=1"]
    before = [world.ask("GET", place).get_data() for place in places]
    estimate = world.post("/v1/estimates", job(name)).get_data()
    _change_everything(world)
    assert [world.ask("GET", place).get_data() for place in places] == before
    assert world.post("/v1/estimates", job(name)).get_data() != estimate
    assert json.loads(before[0])["price_list"] == "2026-autumn"


def test_statements_are_few_and_their_number_does_not_grow(world: World) -> None:
    world.post("/v1/estimates", job())
    with world.statements() as seen:
        for name in demo_jobs():
            assert world.post("/v1/estimates", job(name)).status_code == 200
        sweep = {"units": "in", "job": job()["jobs"][0], "over": "mouldings"}
        assert world.post("/v1/estimates/sweep", sweep).status_code == 200
    assert seen == []
    many = {**job(), "jobs": job()["jobs"] * 10}
    world.post(QUOTES, job())  # the first quote brings the papers that the others share
    counts = {}
    for what, method, path, body in (
        ("store one", "POST", QUOTES, job()),
        ("store ten", "POST", QUOTES, many),
        ("one", "GET", f"{QUOTES}/Q100014", None),
        ("workings", "GET", f"{QUOTES}/Q100014/workings", None),
        ("list", "GET", f"{QUOTES}?limit=200", None),
    ):
        more: dict[str, Any] = {} if body is None else {"json": body}
        with world.statements() as seen:
            assert world.ask(method, path, **more).status_code in (200, 201)
        counts[what] = [text.split(maxsplit=1)[0] for text in seen if not text.startswith("BEGIN")]
    for what in ("store one", "store ten"):
        if (
            world.wiring.engine.dialect.name == "postgresql"
        ):  # the number is of a block, or begins one
            assert counts[what] in (["UPDATE", "WITH"], ["WITH"])
        else:  # the number, if key and book are still the same; the head, the revision, the event
            assert counts[what] == ["UPDATE", "INSERT", "INSERT", "INSERT"]
    assert len(counts["one"]) <= 2
    assert len(counts["workings"]) <= 4
    assert len(counts["list"]) <= 4  # two of them: up to where the list can be followed


def test_a_refused_quote_takes_no_number(world: World) -> None:
    bad = job()
    bad["jobs"][0]["overlap"] = "9"
    before = world.rows()
    assert world.post(QUOTES, bad).status_code == 422
    assert world.rows() == before
    assert _create(world)["number"] == "Q100014"


def test_what_was_made_a_moment_ago_on_another_node_is_not_refused(world: World) -> None:
    # The book of this node is still trusted; a refusal by it is looked at again before it is told.
    document = job()
    document["jobs"][0]["mats"][0]["board"] = "BRD-NEW"
    assert world.post("/v1/estimates", document).status_code == 422
    new = replace(demo_catalogue().items["BRD-1204"], code="BRD-NEW")
    with world.wiring.units.writing() as uow:
        uow.catalogue.put(world.shop_id, [new], world.clock())
        uow.commit()
    assert world.post("/v1/quotes", document).status_code == 201
