"""Bench tickets over HTTP: lists, forms, presses, and two people who press at once."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from threading import Barrier
from typing import Any

import pytest
from pypdf import PdfReader
from sqlalchemy import text
from werkzeug.test import TestResponse

from schemas.shop import dump_shop
from service.demo import demo_shop
from tests.api.contract.shapes import wrong
from tests.api.quotes.test_steps import made, now, pressed
from tests.api.world import World, job, problem_of

TICKETS = "/v1/cut-tickets"
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "&lt;b&gt;already escaped&lt;/b&gt;",
    "שלום עולם, a picture of the sea",
    "لوحة الميناء",
    "{{ 7 * 7 }} {% raw %} ${7*7}",
    "'; DROP TABLE cut_tickets; --",
    "a" * 120,
    "W" * 120,
    "𝔘𝔫𝔦𝔠𝔬𝔡𝔢 🖼️ \U0001f5bc",
    "e\u0301" * 40,
    "%s %n %00",
    "]]></title><svg onload=alert(1)>",
    "\\u0000 \\x00",
)


def accepted(world: World, document: Any = None) -> dict[str, Any]:
    """A quote whose tickets wait."""
    answer = pressed(world, made(world, document=document)["number"], "accept")
    assert answer.status_code == 200, answer.get_json()
    found: dict[str, Any] = answer.get_json()
    return found


def press(
    world: World, ticket: str, action: str, body: Any = None, match: str = "*", scope: str = "bench"
) -> TestResponse:
    more: dict[str, Any] = {} if body is None else {"json": body}
    place = f"{TICKETS}/{ticket}/{action}"
    return world.ask("POST", place, scope, headers={"If-Match": match}, **more)


def shown(world: World, ticket: str) -> dict[str, Any]:
    found: dict[str, Any] = world.ask("GET", f"{TICKETS}/{ticket}", "bench").get_json()
    return found


def test_a_ticket_for_each_job_with_the_quotes_sizes_and_minutes(world: World) -> None:
    two = {**job(), "jobs": [job()["jobs"][0], {**job()["jobs"][0], "label": "B", "quantity": 3}]}
    quote = accepted(world, two)
    assert [ticket["job"] for ticket in quote["tickets"]] == [1, 2]
    for told, done in zip(quote["tickets"], quote["jobs"], strict=True):
        ticket = shown(world, told["number"])
        assert wrong("Ticket", ticket) == []
        assert ticket["label"] == done["label"]
        assert ticket["minutes"] == done["labour"]["minutes"]
        assert ticket["sizes"]["outside"] == done["sizes"]["outside"]
        cut = [(piece["item"], piece["quantity"]) for piece in ticket["pieces"]]
        assert cut == [(piece["item"], piece["quantity"]) for piece in done["cut_list"]]
        lots = [(lot["like"], lot["quantity"], lot["status"]) for lot in ticket["progress"]]
        assert lots == [(p["piece"], p["quantity"], "waiting") for p in ticket["pieces"]]
        assert world.ask("GET", f"{TICKETS}/{ticket['id']}", "bench").get_json() == ticket


def test_a_bench_key_sees_neither_prices_nor_the_customer(world: World) -> None:
    quote = accepted(world)
    number = quote["tickets"][0]["number"]
    answers = [
        world.ask("GET", f"{TICKETS}/{number}", "bench", headers={"Accept": accept}).get_data()
        for accept in ("application/json", "text/html")
    ]
    answers.append(world.ask("GET", TICKETS, "bench").get_data())
    for body in answers:
        for secret in ("Okafor", "okafor@example.com", quote["totals"]["total"], "USD", "amount"):
            assert secret.encode() not in body
    for scope in ("price", "reports"):
        problem_of(world.ask("GET", TICKETS, scope), 403, "not_allowed")
        problem_of(world.ask("GET", f"{TICKETS}/{number}", scope), 403, "not_allowed")
    problem_of(world.ask("GET", f"{TICKETS}/{number}", "other"), 404, "not_found")
    problem_of(world.ask("GET", f"/v1/quotes/{quote['number']}", "bench"), 403, "not_allowed")


def test_lists_by_state_by_quote_and_by_change(world: World) -> None:
    first = accepted(world, {**job(), "jobs": job()["jobs"] * 2})
    world.clock.move(minutes=5)
    second = accepted(world)
    numbers = [t["number"] for t in first["tickets"]] + [t["number"] for t in second["tickets"]]
    assert press(world, numbers[0], "start").status_code == 200

    def listed(query: str) -> list[str]:
        found: list[str] = []
        place: str | None = f"{TICKETS}?{query}"
        while place:
            page = world.ask("GET", place, "bench")
            assert wrong("TicketList", page.get_json()) == []
            found += [row["number"] for row in page.get_json()["items"]]
            link = page.headers.get("Link")
            place = link.split(">")[0].strip("<") if link else None
        return sorted(found)

    assert listed("") == listed("limit=1") == numbers
    assert listed("status=in_work") == numbers[:1]
    assert listed("status=waiting&limit=1") == numbers[1:]
    assert listed(f"quote={first['number']}") == numbers[:2]
    assert listed(f"quote={second['id']}") == numbers[2:]
    assert listed("updated_since=2026-11-25T15:09:05Z") == [numbers[0], numbers[2]]
    assert listed("quote=nobody") == []
    for query, name in (
        ("status=spoiled", "status"),
        ("quote=Q100041", "quote"),
        ("quote=%00", "quote"),
        ("limit=0", "limit"),
        ("cursor=x", "cursor"),
        ("updated_since=soon", "updated_since"),
        ("reference=1", "reference"),
        ("status=done&status=done", "status"),
    ):
        refused = problem_of(world.ask("GET", f"{TICKETS}?{query}", "bench"), 400, "bad_parameter")
        assert refused["errors"][0]["parameter"] == name


@pytest.mark.parametrize("name", ["T100041", "T1", "%00", "x" * 500, "Q100014"])
def test_names_that_are_none_are_not_found(world: World, name: str) -> None:
    accepted(world)
    problem_of(world.ask("GET", f"{TICKETS}/{name}", "bench"), 404, "not_found")
    problem_of(press(world, name, "start"), 404, "not_found")


def test_from_the_first_piece_to_the_finished_quote(world: World) -> None:
    quote = accepted(world, {**job(), "jobs": job()["jobs"] * 2})
    one, two = (ticket["number"] for ticket in quote["tickets"])
    problem_of(press(world, one, "finish"), 409, "wrong_state")
    begun = press(world, one, "pieces/1/start").get_json()
    assert (begun["status"], begun["progress"][0]["status"]) == ("in_work", "in_work")
    assert now(world, quote["number"])["status"] == "in_work"
    problem_of(pressed(world, quote["number"], "withdraw"), 409, "wrong_state")
    spoiled = press(world, one, "pieces/1/spoil", {"reason": "Overcut."}).get_json()
    assert wrong("Ticket", spoiled) == []
    assert spoiled["progress"][0]["reason"] == "Overcut."
    assert spoiled["progress"][-1] == {
        "piece": len(spoiled["progress"]),
        "like": 1,
        "quantity": 1,
        "status": "waiting",
        "recut_of": 1,
    }
    recut = spoiled["progress"][-1]["piece"]
    problem_of(press(world, one, "finish"), 409, "conflict")
    assert press(world, one, f"pieces/{recut}/finish").status_code == 200
    done = press(world, one, "finish").get_json()
    assert done["status"] == "done"
    assert {lot["status"] for lot in done["progress"]} == {"done", "spoiled"}
    assert now(world, quote["number"])["status"] == "in_work"
    problem_of(press(world, one, "pieces/2/spoil", {"reason": "late"}), 409, "wrong_state")
    assert press(world, two, "start").status_code == 200
    assert press(world, two, "finish").status_code == 200
    assert now(world, quote["number"])["status"] == "done"
    with world.wiring.engine.connect() as connection:
        kinds = connection.execute(text("SELECT kind FROM events ORDER BY id")).scalars().all()
    assert [kind for kind in kinds if kind.startswith(("quote", "piece"))] == [
        "quote.created",
        "quote.accepted",
        "quote.begun",
        "piece.started",
        "piece.spoiled",
        "piece.done",
        "quote.done",
    ]
    assert kinds.count("ticket.done") == 2


def test_a_withdrawn_quote_takes_its_tickets_back(world: World) -> None:
    quote = accepted(world, {**job(), "jobs": job()["jobs"] * 2})
    withdrawn = pressed(world, quote["number"], "withdraw", {"reason": "Changed mind."}).get_json()
    assert withdrawn["status"] == "withdrawn"
    for ticket in withdrawn["tickets"]:
        assert shown(world, ticket["number"])["status"] == "withdrawn"
        refused = problem_of(press(world, ticket["number"], "start"), 409, "wrong_state")
        assert refused["present"] == {"status": "withdrawn", "possible": []}
        problem_of(press(world, ticket["number"], "pieces/1/start"), 409, "wrong_state")
    other = made(world)["number"]
    assert world.ask("GET", f"/v1/quotes/{other}/promise").get_json()["open_minutes"] == "0"


def test_presses_that_make_no_sense(world: World) -> None:
    number = accepted(world)["tickets"][0]["number"]
    answer = world.ask("POST", f"{TICKETS}/{number}/start", "bench")
    problem_of(answer, 428, "precondition_required")
    stale = problem_of(press(world, number, "start", match='"7"'), 412, "stale")
    assert stale["present"] == {"status": "waiting", "possible": ["start"], "etag": '"1"'}
    problem_of(world.ask("POST", f"{TICKETS}/{number}/start", None), 401, "not_known")
    problem_of(press(world, number, "start", scope="price"), 403, "not_allowed")
    for piece in ("0", "99", "x", "-1", "1" * 30):
        problem_of(press(world, number, f"pieces/{piece}/start"), 404, "not_found")
    for body in ({}, {"reason": ""}, {"reason": "x", "quantity": 0}, {"reason": "x", "why": 1}):
        problem_of(press(world, number, "pieces/1/spoil", body), 422, "job_refused")
    many = press(world, number, "pieces/1/spoil", {"reason": "x", "quantity": 2})
    problem_of(many, 422, "job_refused")
    assert shown(world, number)["status"] == "waiting"


def _at_once(world: World, presses: list[tuple[str, str, Any]], tag: str) -> list[int]:
    gate = Barrier(len(presses))
    token = world.tokens["bench"]

    def one(what: tuple[str, str, Any]) -> int:
        client = world.client.application.test_client()
        gate.wait(60)
        answer = client.post(
            f"{TICKETS}/{what[0]}/{what[1]}",
            data=json.dumps(what[2]),
            content_type="application/json",
            headers={"Authorization": f"Bearer {token}", "If-Match": tag},
        )
        if answer.status_code in (409, 412):
            assert answer.get_json()["present"]["status"] in ("in_work", "done", "spoiled")
        return answer.status_code

    with ThreadPoolExecutor(len(presses)) as pool:
        return list(pool.map(one, presses))


@pytest.mark.parametrize("tag", ["*", '"1"'])
@pytest.mark.parametrize(
    ("action", "body"),
    [("start", {}), ("pieces/1/start", {}), ("pieces/1/spoil", {"reason": "slipped"})],
)
def test_of_two_who_press_the_same_one_wins(world: World, action: str, body: Any, tag: str) -> None:
    number = accepted(world)["tickets"][0]["number"]
    codes = _at_once(world, [(number, action, body)] * 3, tag)
    assert sorted(codes) == ([200, 409, 409] if tag == "*" else [200, 412, 412])
    ticket = shown(world, number)
    assert ticket["status"] == "in_work"
    assert len(ticket["progress"]) == len(ticket["pieces"]) + ("spoil" in action)


def test_people_at_different_pieces_and_tickets_are_not_in_each_others_way(world: World) -> None:
    quote = accepted(world, {**job(), "jobs": job()["jobs"] * 2})
    one, two = (ticket["number"] for ticket in quote["tickets"])
    presses: list[tuple[str, str, Any]] = [
        (number, f"pieces/{piece}/finish", {}) for number in (one, two) for piece in (1, 2, 3)
    ]
    assert _at_once(world, presses, "*") == [200] * 6
    for number in (one, two):
        assert [lot["status"] for lot in shown(world, number)["progress"]][:3] == ["done"] * 3
    assert _at_once(world, [(one, "finish", {}), (two, "finish", {})], "*") == [200, 200]
    assert now(world, quote["number"])["status"] == "done"


def test_a_tickets_bytes_are_made_once(world: World) -> None:
    number = accepted(world)["tickets"][0]["number"]
    before = shown(world, number)
    with world.wiring.engine.connect() as connection:
        stored = connection.execute(text("SELECT document FROM cut_tickets")).scalar_one()
    with world.wiring.units.writing() as uow:
        record = uow.shops.by_id(world.shop_id)
        uow.shops.save(world.shop_id, record.shop)
        uow.commit()
    press(world, number, "start")
    with world.wiring.engine.connect() as connection:
        assert connection.execute(text("SELECT document FROM cut_tickets")).scalar_one() == stored
    body = world.ask("GET", f"{TICKETS}/{number}", "bench").get_data()
    assert body.endswith(str(stored).encode()[1:])
    moving = {"status", "updated_at", "progress"}
    after = shown(world, number)
    assert {k: v for k, v in after.items() if k not in moving} == {
        k: v for k, v in before.items() if k not in moving
    }


@pytest.mark.parametrize("position", range(len(HOSTILE)))
def test_hostile_labels_from_the_document_to_the_paper(world: World, position: int) -> None:
    hostile = HOSTILE[position]
    document = job()
    document["jobs"][0]["label"] = hostile[:120]
    document["reference"] = hostile[:80]
    document["customer"] = {"name": hostile[:120], "note": hostile}
    quote = accepted(world, document)
    number = quote["tickets"][0]["number"]
    assert shown(world, number)["label"] == hostile[:120].strip()
    for place, scope in (
        (f"{TICKETS}/{number}", "bench"),
        (f"/v1/quotes/{quote['id']}", "counter"),
    ):
        page = world.ask("GET", place, scope, headers={"Accept": "text/html"})
        assert page.status_code == 200
        html = page.get_data(as_text=True)
        for markup in ("<script", "<img", "<svg onload", "</title><svg", "<b>already"):
            assert markup not in html
        assert "\u202e" not in html
        paper = world.ask("GET", place, scope, headers={"Accept": "application/pdf"})
        assert paper.get_data().startswith(b"%PDF-")
        assert paper.get_data().rstrip().endswith(b"%%EOF")
    drawing = world.ask("GET", f"/v1/quotes/{quote['id']}/drawing.svg").get_data(as_text=True)
    assert "<script" not in drawing


def test_the_papers_speak_the_language_that_the_shop_has_now(world: World) -> None:
    """A ticket made before keeps its document; ticket, quote and drawing are told in German."""
    quote = accepted(world)
    number = quote["tickets"][0]["number"]
    before = shown(world, number)
    german = {**dump_shop(demo_shop()), "locale": "de-DE"}
    changed = world.ask("PUT", "/v1/shop", "admin", json=german, headers={"If-Match": "*"})
    assert changed.get_json()["locale"] == "de-DE"
    for place, said in (
        (f"{TICKETS}/{number}", "Oberes Passepartout"),
        (f"/v1/quotes/{quote['id']}", f"Angebot {quote['number']}"),
    ):
        page = world.ask("GET", place, "counter", headers={"Accept": "text/html"})
        assert said in page.get_data(as_text=True)
        assert '<html lang="de">' in page.get_data(as_text=True)
        paper = world.ask("GET", place, "counter", headers={"Accept": "application/pdf"})
        assert PdfReader(BytesIO(paper.get_data())).trailer["/Root"]["/Lang"] == "de"
    drawn = world.ask("GET", f"/v1/quotes/{quote['id']}/drawing.svg", "counter")
    assert "<title>Vorderansicht" in drawn.get_data(as_text=True)
    assert shown(world, number) == before
