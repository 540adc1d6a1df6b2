"""Quotes are found by any part of what people call them: number, reference, customer, label."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select, update

from schemas.quotes.records import QuoteFilter
from service.cli import migrate
from service.cli.migrate import fill_words
from service.persistence.quotes import quotes
from tests.api.world import World, job, problem_of

ANY = {"If-Match": "*"}


def _stored(world: World, name: str, reference: str = "", *labels: str) -> dict[str, Any]:
    asked = job()["jobs"][0]
    jobs = [{**asked, "label": label} for label in labels] or [asked]
    body = {"jobs": jobs, "reference": reference, "customer": {"name": name}}
    answer = world.ask("POST", "/v1/quotes", "counter", json=body)
    assert answer.status_code == 201, answer.get_data(as_text=True)
    return dict(answer.get_json())


def _found(world: World, text: str, **more: str) -> list[str]:
    answer = world.ask("GET", "/v1/quotes", "counter", query_string={"q": text, **more})
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return [row["number"] for row in answer.get_json()["items"]]


def _words(world: World, quote: dict[str, Any]) -> str:
    mine = select(quotes.c.words).where(quotes.c.id == quote["id"])
    with world.wiring.engine.connect() as connection:
        return str(connection.execute(mine).scalar_one())


def test_any_part_of_what_people_call_it_finds_it(world: World) -> None:
    one = _stored(world, "Nadia Núñez", "W-1021/b", "Lighthouse in chälk", "Grandmother's sampler")
    other = _stored(world, "Søren Østergaard", "K-77")
    for text in ("nunez", "ÑEZ", "adi nun", "1021", "W-1021", "ighth", "CHALK", "sampl nadia"):
        assert _found(world, text) == [one["number"]], text
    for text in ("soren", "OSTERGA", "k-77"):
        assert _found(world, text) == [other["number"]], text
    assert _found(world, "nadia ostergaard") == []
    assert _found(world, "nothing") == []


def test_a_number_is_found_as_it_is_written_and_by_its_end(world: World) -> None:
    one, other = _stored(world, "A. Sample"), _stored(world, "A. Sample")
    for quote in (one, other):
        number = quote["number"]
        assert _found(world, number) == [number]
        assert _found(world, f"{number[0].lower()} {number[1:4]} {number[4:]}") == [number]
        assert number in _found(world, number[-3:])
    assert _found(world, "sample") == [other["number"], one["number"]]


def test_a_search_is_joined_with_the_other_filters_and_turns_pages(world: World) -> None:
    stored = [_stored(world, "Page Turner", f"P-{n}")["number"] for n in range(5)]
    assert _found(world, "turner", reference="P-3") == [stored[3]]
    assert _found(world, "turner", status="accepted") == []
    query = {"q": "turner", "limit": "2"}
    seen: list[str] = []
    while True:
        page = world.ask("GET", "/v1/quotes", "counter", query_string=query).get_json()
        seen += [row["number"] for row in page["items"]]
        if page["next"] is None:
            break
        query = {**query, "cursor": page["next"]}
    assert seen == stored[::-1]


@pytest.mark.parametrize("text", ["", "q", " - ", "é"])
def test_what_would_find_nearly_every_quote_is_refused(world: World, text: str) -> None:
    answer = world.ask("GET", "/v1/quotes", "counter", query_string={"q": text})
    fault = problem_of(answer, 400, "bad_parameter")
    assert "2 letters or digits" in fault["detail"]


def test_a_revision_is_found_by_what_it_is_now(world: World) -> None:
    quote = _stored(world, "Anna Before", "R-1", "watercolour")
    body = {**job(), "reference": "R-2", "customer": {"name": "Anna After"}}
    path = f"/v1/quotes/{quote['id']}/revisions"
    assert world.ask("POST", path, "counter", json=body, headers=ANY).status_code == 201
    assert _found(world, "anna after") == _found(world, "r-2") == [quote["number"]]
    for gone in ("before", "watercol", "R-1"):
        assert _found(world, gone) == [], gone


def test_who_is_forgotten_is_found_no_more(world: World) -> None:
    made = world.ask("POST", "/v1/customers", "counter", json={"name": "Forget Mee"}).get_json()
    body = {"jobs": job()["jobs"], "customer_id": made["id"], "reference": "F-9"}
    quote = world.ask("POST", "/v1/quotes", "counter", json=body).get_json()
    assert _found(world, "forget") == [quote["number"]]
    path, seen = f"/v1/customers/{made['id']}/forget", {"If-Match": f'"{made["version"]}"'}
    assert world.ask("POST", path, "admin", headers=seen).status_code == 200
    assert _found(world, "forget") == []
    assert _found(world, "f-9") == [quote["number"]]


def test_another_shops_quotes_are_never_found(world: World) -> None:
    quote, wanted = _stored(world, "Only Here"), QuoteFilter(q=("only",))
    with world.wiring.units.reading() as uow:
        (head,) = uow.quotes.page(world.shop_id, wanted, 9).heads
        assert head.number == quote["number"]
        assert uow.quotes.page(world.other_shop_id, wanted, 9).heads == ()


def test_quotes_of_the_release_before_are_filled_once(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(migrate, "AT_ONCE", 2)
    old = [_stored(world, "Old Customer", f"O-{n}") for n in range(4)]
    before = [_words(world, quote) for quote in old]
    with world.wiring.engine.begin() as connection:
        connection.execute(update(quotes).values(words=""))
    assert _found(world, "customer") == []
    assert fill_words(world.wiring.units) == 4
    assert fill_words(world.wiring.units) == 0
    assert [_words(world, quote) for quote in old] == before
    assert _found(world, "customer") == [quote["number"] for quote in old[::-1]]
