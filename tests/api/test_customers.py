"""Customers over HTTP: stored, found, changed by two tills, merged, told and forgotten."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from werkzeug.test import TestResponse

from tests.api.world import World, faults_of, job, problem_of

PLACE = "/v1/customers"
NUNEZ = {
    "name": "Nadia Núñez",
    "company": "Invented School of Arts",
    "email": "N.Nunez@Example.org",
    "telephone": "+1 202 555 0143",
}


def read(answer: TestResponse, status: int = 200) -> dict[str, Any]:
    assert answer.status_code == status, answer.get_data(as_text=True)
    document: dict[str, Any] = json.loads(answer.get_data())
    return document


def stored(world: World, **more: Any) -> dict[str, Any]:
    return read(world.ask("POST", PLACE, "counter", json={**NUNEZ, **more}), 201)


def put(world: World, customer: dict[str, Any], **more: Any) -> TestResponse:
    headers = {"If-Match": f'"{customer["version"]}"'}
    path = f"{PLACE}/{customer['id']}"
    return world.ask("PUT", path, "counter", json={**customer, **more}, headers=headers)


def act(world: World, customer: dict[str, Any], verb: str, scope: str, **more: Any) -> Any:
    headers = {"If-Match": f'"{customer["version"]}"'}
    path = f"{PLACE}/{customer['id']}/{verb}"
    return world.ask("POST", path, scope, headers=headers, **more)


def found(world: World, text: str) -> list[str]:
    answer = read(world.ask("GET", PLACE, "counter", query_string={"q": text}))
    return [row["name"] or row["company"] for row in answer["items"]]


def quoted(world: World, **more: Any) -> dict[str, Any]:
    answer = world.ask("POST", "/v1/quotes", "counter", json={"jobs": [job()["jobs"][0]], **more})
    return read(answer, 201)


def test_a_customer_is_stored_checked_and_read(world: World) -> None:
    made = stored(world)
    assert made["telephone"] == "+12025550143"
    assert made["email"] == "N.Nunez@example.org"  # a domain has no case, a mailbox may have
    assert read(world.ask("GET", f"{PLACE}/{made['id']}", "counter")) == made
    wrong = {"email": "nadia at example", "telephone": "555 0143", "colour": "red"}
    faults = faults_of(world.ask("POST", PLACE, "counter", json=wrong))
    assert faults == {
        "/email": "bad_value",
        "/telephone": "bad_value",
        "/colour": "unknown_field",
    }
    nobody = faults_of(world.ask("POST", PLACE, "counter", json={"note": "?"}))
    assert nobody == {"/name": "bad_value"}


def test_any_part_finds_a_customer_without_case_and_accents(world: World) -> None:
    stored(world)
    stored(world, name="Nuno Żółć", email="", telephone="+48 22 555 01 43", company="")
    assert found(world, "NUNE") == ["Nadia Núñez"]
    assert found(world, "zolc") == ["Nuno Żółć"]
    assert found(world, "nu") == ["Nuno Żółć", "Nadia Núñez"]
    assert found(world, "arts nad") == ["Nadia Núñez"]
    assert found(world, "555 0143") == ["Nuno Żółć", "Nadia Núñez"]
    assert found(world, "202-555") == ["Nadia Núñez"]
    assert found(world, "example.org") == ["Nadia Núñez"]
    assert found(world, "nobody") == []
    problem_of(world.ask("GET", PLACE, "counter", query_string={"q": "n"}), 400, "bad_parameter")


def test_pages_of_a_search_neither_repeat_nor_miss(world: World) -> None:
    names = [stored(world, name=f"Anna {word}")["name"] for word in ("one", "two", "three")]
    seen, cursor = [], {}
    while True:
        asked = {"q": "anna", "limit": "2", **cursor}
        page = read(world.ask("GET", PLACE, "counter", query_string=asked))
        seen += [row["name"] for row in page["items"]]
        if page["next"] is None:
            break
        cursor = {"cursor": page["next"]}
    assert sorted(seen) == sorted(names)


def test_of_two_tills_the_second_is_told(world: World) -> None:
    seen = stored(world)
    changed = read(put(world, seen, telephone="+1 202 555 0190"))
    problem_of(put(world, seen, note="late"), 412, "stale")
    assert read(world.ask("GET", f"{PLACE}/{seen['id']}", "counter")) == changed
    assert found(world, "0190") == ["Nadia Núñez"]
    assert found(world, "0143") == []


def test_of_two_tills_at_once_one_is_told(world: World) -> None:
    seen, gate = stored(world), Barrier(2)

    def change(note: str) -> int:
        gate.wait()
        return put(world, seen, note=note).status_code

    with ThreadPoolExecutor(2) as tills:
        assert sorted(tills.map(change, ("one", "two"))) == [200, 412]
    now = read(world.ask("GET", f"{PLACE}/{seen['id']}", "counter"))
    assert now["note"] in ("one", "two")
    assert now["version"] == 2


def test_a_quote_copies_what_the_shop_knows(world: World) -> None:
    exempt = {"certificate": "EX-17", "last_day": "2027-06-30"}
    known = stored(world, exemption=exempt)
    quote = quoted(world, customer_id=known["id"], customer={"email": "other@example.org"})
    assert quote["customer"] == {
        "name": "Nadia Núñez",
        "email": "other@example.org",
        "telephone": "+12025550143",
        "id": known["id"],
    }
    assert quote["totals"]["tax_exempt"]["reason"] == "certificate EX-17"
    read(put(world, known, name="Nadia Okafor"))
    again = read(world.ask("GET", f"/v1/quotes/{quote['id']}", "counter"))
    assert again["customer"]["name"] == "Nadia Núñez"


def test_a_certificate_that_has_ended_counts_no_more(world: World) -> None:
    known = stored(world, exemption={"certificate": "EX-17", "last_day": "2020-06-30"})
    assert "tax_exempt" not in quoted(world, customer_id=known["id"])["totals"]


def test_a_quote_is_priced_at_the_customers_level(world: World) -> None:
    usual = quoted(world)
    known = stored(world, level="trade")
    trade = quoted(world, customer_id=known["id"])
    assert trade["totals"]["price_level"] == "trade"
    for before, after in zip(usual["jobs"][0]["lines"], trade["jobs"][0]["lines"], strict=True):
        assert after.get("level_factor") == (None if before["component"] == "labour" else "0.85")
    again = quoted(world, customer_id=known["id"], price_level="school")
    assert again["totals"]["price_level"] == "school"
    public = world.ask("POST", "/v1/estimates", "price", json={**job(), "price_level": "trade"})
    assert faults_of(public) == {"/price_level": "not_allowed"}
    path = f"/v1/quotes/{trade['id']}/workings"
    rows = {row["figure"]: row for row in read(world.ask("GET", path, "counter"))["workings"]}
    assert "* level" in rows["/jobs/0/lines/0/each"]["formula"]
    assert all("now" not in row for row in rows.values())


def test_only_the_shops_own_keys_name_its_customers(world: World) -> None:
    known = stored(world)
    asked = {**job(), "customer_id": known["id"]}
    for path in ("/v1/quotes", "/v1/estimates"):
        faults = faults_of(world.ask("POST", path, "price", json=asked))
        assert faults == {"/customer_id": "not_allowed"}
        asked_for_nobody = {**job(), "customer_id": "nobody"}
        faults = faults_of(world.ask("POST", path, "counter", json=asked_for_nobody))
        assert faults == {"/customer_id": "unknown_customer"}


def test_two_that_are_one_are_merged_with_their_quotes(world: World) -> None:
    one = stored(world, telephone="", note="first")
    other = stored(world, name="N. Nunez", note="second")
    quote = quoted(world, customer_id=other["id"])
    kept = read(act(world, one, "merge", "counter", json={"customer_id": other["id"]}))
    assert (kept["telephone"], kept["note"]) == ("+12025550143", "first\nsecond")
    assert read(world.ask("GET", f"{PLACE}/{other['id']}", "counter")) == kept
    told = read(world.ask("GET", f"{PLACE}/{kept['id']}/export", "counter"))
    assert [row["number"] for row in told["quotes"]] == [quote["number"]]
    assert found(world, "nunez") == ["Nadia Núñez"]
    same = act(world, kept, "merge", "counter", json={"customer_id": other["id"]})
    assert faults_of(same) == {"/customer_id": "bad_choice"}


def test_who_asks_to_be_forgotten_is(world: World) -> None:
    known = stored(world)
    quote = quoted(world, customer_id=known["id"])
    assert act(world, known, "forget", "counter").status_code == 403
    assert read(act(world, known, "forget", "admin")) == {"quotes": 1}
    after = read(world.ask("GET", f"/v1/quotes/{quote['id']}", "counter"))
    assert after["customer"] == {}
    assert after["totals"] == quote["totals"]
    assert world.ask("GET", f"{PLACE}/{known['id']}", "counter").status_code == 404
    assert found(world, "nunez") == []
    feed = read(world.ask("GET", "/v1/events", "admin"))
    assert "Nadia" not in json.dumps(feed)
