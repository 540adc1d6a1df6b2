"""The life of stored quotes over HTTP: steps, expiry, revisions, and two who press at once."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from threading import Barrier
from typing import Any

import pytest
from sqlalchemy import text
from werkzeug.test import TestResponse

from service.demo import demo_price_list
from service.domain.prices.lists import PriceList
from service.domain.tickets.model import TicketNotProved
from tests.api.contract.shapes import wrong
from tests.api.world import World, job, problem_of

QUOTES = "/v1/quotes"
ANY = {"If-Match": "*"}
TOO_LARGE = {
    "jobs": [
        job()["jobs"][0],
        {
            "artwork": {"width": "70", "height": "70"},
            "presentation": "overlap",
            "mats": [{"board": "BRD-1204", "border": "3"}],
        },
    ]
}


def made(world: World, scope: str = "counter", document: Any = None) -> dict[str, Any]:
    answer = world.post(QUOTES, document or job(), scope)
    assert answer.status_code == 201, answer.get_json()
    found: dict[str, Any] = answer.get_json()
    return found


def pressed(
    world: World,
    quote: str,
    action: str,
    body: Any = None,
    match: str = "*",
    scope: str = "counter",
) -> TestResponse:
    more: dict[str, Any] = {} if body is None else {"json": body}
    place = f"{QUOTES}/{quote}/{action}"
    return world.ask("POST", place, scope, headers={"If-Match": match}, **more)


def now(world: World, quote: str) -> dict[str, Any]:
    found: dict[str, Any] = world.ask("GET", f"{QUOTES}/{quote}").get_json()
    return found


def test_from_a_draft_to_a_ticket(world: World) -> None:
    draft = made(world, "price")
    number = draft["number"]
    assert (draft["status"], draft["promised"], draft["tickets"]) == ("draft", None, [])
    issued = pressed(world, number, "issue")
    assert issued.get_json()["status"] == "issued"
    accepted = pressed(world, number, "accept", {}, issued.headers["ETag"]).get_json()
    assert wrong("Quote", accepted) == []
    assert accepted["status"] == "accepted"
    assert [ticket["number"] for ticket in accepted["tickets"]] == ["T100014"]
    assert accepted == now(world, number)
    for part in ("jobs", "totals", "price_list", "customer", "deposit_due"):
        assert accepted[part] == draft[part]
    with world.wiring.engine.connect() as connection:
        kinds = connection.execute(text("SELECT kind FROM events ORDER BY id")).scalars().all()
    assert kinds == ["quote.created", "quote.issued", "quote.accepted", "ticket.created"]


def test_a_deposit_is_half_of_the_total_in_the_demo_shop(world: World) -> None:
    """330.44 comes to 165.22: by hand."""
    quote = made(world)
    assert (quote["totals"]["total"], quote["deposit_due"]) == ("330.44", "165.22")


def test_a_promise_is_what_the_bench_has_and_the_weeks_days(world: World) -> None:
    """Wednesday 25 November, 5 days for material: work begins on Tuesday 1 December, 420 min."""
    one, two = made(world)["number"], made(world, document={**job(), "jobs": job()["jobs"] * 4})
    asked = world.ask("GET", f"{QUOTES}/{one}/promise").get_json()
    assert wrong("Promise", asked) == []
    assert (asked["day"], asked["open_minutes"], asked["given"]) == ("2026-12-01", "0", False)
    assert pressed(world, two["number"], "accept").get_json()["promised"] == "2026-12-01"
    asked = world.ask("GET", f"{QUOTES}/{one}/promise").get_json()
    assert float(asked["open_minutes"]) == pytest.approx(4 * float(asked["minutes"]))
    # 5 x 96.2778 = 481.389 minutes are more than Tuesday's 420
    assert asked["day"] == "2026-12-02"
    assert pressed(world, one, "accept").get_json()["promised"] == "2026-12-02"
    assert world.ask("GET", f"{QUOTES}/{one}/promise").get_json()["given"] is True


def test_a_stop_makes_no_ticket_of_a_quote_that_an_earlier_release_issued(world: World) -> None:
    quote = made(world, document=TOO_LARGE)
    with world.wiring.engine.begin() as connection:
        connection.execute(text("UPDATE quotes SET status = 'issued'"))
    before = world.rows()
    refused = problem_of(pressed(world, quote["number"], "accept"), 409, "ticket_refused")
    found = {(fault["pointer"], fault["code"]) for fault in refused["errors"]}
    assert found == {("/jobs/1/mats/0/board", "larger_than_stock_sheet")}
    assert world.rows() == before
    assert now(world, quote["number"])["status"] == "issued"


def test_a_ticket_that_fails_its_own_check_is_not_made_and_that_is_said(
    world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> None:
        raise TicketNotProved("the size of piece 1 would be wrong")

    quote = made(world)
    monkeypatch.setattr("schemas.tickets.stored.make_ticket", fail)
    refused = pressed(world, quote["number"], "accept")
    document = problem_of(refused, 500, "ticket_not_proved")
    assert "nothing was stored: the size of piece 1 would be wrong" in document["detail"]
    assert "a check of our own failed" in caplog.text
    shown = now(world, quote["number"])
    assert (shown["status"], shown["tickets"]) == ("issued", [])


def test_the_turn_of_a_day_expires_a_quote_and_a_new_price_brings_it_back(world: World) -> None:
    quote = made(world)
    number, tag = quote["number"], world.ask("GET", f"{QUOTES}/{quote['number']}").headers["ETag"]
    world.clock.now = world.clock.now.replace(month=12, day=26, hour=4, minute=59)  # still the 25th
    assert now(world, number)["status"] == "issued"
    world.clock.move(minutes=1)
    late = world.ask("GET", f"{QUOTES}/{number}", headers={"If-None-Match": tag})
    assert late.status_code == 200
    assert late.get_json()["status"] == "expired"
    assert late.get_json()["updated_at"] == quote["updated_at"]
    for status, numbers in (("expired", [number]), ("issued", []), ("draft", [])):
        rows = world.ask("GET", f"{QUOTES}?status={status}").get_json()["items"]
        assert [(row["number"], row["status"]) for row in rows] == [(n, status) for n in numbers]
    problem_of(pressed(world, number, "accept", None, tag), 412, "stale")
    for action in ("accept", "decline", "issue", "withdraw"):
        refused = problem_of(pressed(world, number, action), 409, "wrong_state")
        assert refused["present"] == {"status": "expired", "possible": ["revise"]}
    again = pressed(world, number, "revisions", {"reprice": True}).get_json()
    assert (again["status"], again["revision"]) == ("issued", 2)
    assert again["valid_until"] == "2027-01-25"
    assert pressed(world, number, "accept").get_json()["status"] == "accepted"


def test_a_step_needs_to_say_what_it_has_seen(world: World) -> None:
    number = made(world)["number"]
    for action in ("issue", "accept", "decline", "withdraw", "revisions"):
        body: dict[str, Any] = {"reprice": True} if action == "revisions" else {}
        answer = world.post(f"{QUOTES}/{number}/{action}", body)
        problem_of(answer, 428, "precondition_required")
        stale = problem_of(pressed(world, number, action, body, '"1"'), 412, "stale")
        assert stale["present"]["status"] == "issued"
        assert stale["present"]["etag"] == '"2"'
        for scope in ("price", "bench", "reports"):
            answer = pressed(world, number, action, body, scope=scope)
            problem_of(answer, 403, "not_allowed")
        problem_of(pressed(world, number, action, body, scope="other"), 404, "not_found")
    assert now(world, number)["revision"] == 1


def test_what_is_said_with_a_step_is_kept_and_what_does_not_belong_is_named(world: World) -> None:
    number = made(world)["number"]
    faults = problem_of(pressed(world, number, "accept", {"deposit": 1}), 422, "job_refused")
    assert faults["errors"][0]["pointer"] == "/deposit"
    long = problem_of(pressed(world, number, "decline", {"reason": "x" * 501}), 422, "job_refused")
    assert long["errors"][0]["pointer"] == "/reason"
    declined = pressed(world, number, "decline", {"reason": "Too dear."}).get_json()
    assert wrong("Quote", declined) == []
    assert declined["reason"] == "Too dear."
    again = pressed(world, number, "revisions", {"reprice": True}).get_json()
    assert again["status"] == "issued"
    assert "reason" not in again


def _dearer(world: World) -> None:
    prices = demo_price_list()
    rules = tuple(replace(rule, rate=rule.rate * 2) for rule in prices.rules)
    with world.wiring.units.writing() as uow:
        later = PriceList("later", prices.currency, date(2026, 11, 25), rules)
        uow.price_lists.put(world.shop_id, later)
        uow.price_lists.publish(world.shop_id, "later", world.clock())
        uow.commit()
    world.clock.move(hours=1)


def _stored(world: World) -> list[Any]:
    query = "SELECT request, result, papers, costs FROM quote_revisions WHERE revision = 1"
    with world.wiring.engine.connect() as connection:
        return [tuple(row) for row in connection.execute(text(query))]


def test_a_new_list_and_a_revision_leave_what_was_told_byte_for_byte(world: World) -> None:
    quote = made(world)
    number = quote["number"]
    first, kept = world.ask("GET", f"{QUOTES}/{number}").get_data(), _stored(world)
    _dearer(world)
    assert world.ask("GET", f"{QUOTES}/{number}").get_data() == first
    repriced = pressed(world, number, "revisions", {"reprice": True})
    assert repriced.status_code == 201
    place = repriced.headers["Location"]
    assert repriced.get_json()["price_list"] == "later"
    assert _stored(world) == kept
    whole = world.ask("GET", place).get_json()
    assert wrong("QuoteRevision", whole) == []
    assert whole["totals"] == repriced.get_json()["totals"]
    old = world.ask("GET", f"{QUOTES}/{number}/revisions/1").get_data()
    with world.wiring.units.reading() as uow:
        result = uow.quotes.revision(world.shop_id, quote["id"], 1).result
    assert old.endswith(result[1:])
    rows = world.ask("GET", f"{QUOTES}/{number}/revisions").get_json()
    assert wrong("RevisionList", rows) == []
    assert [row["total"] for row in rows["items"]] == [
        quote["totals"]["total"],
        whole["totals"]["total"],
    ]
    changes = world.ask("GET", f"{place}/changes").get_json()
    assert wrong("Changes", changes) == []
    told = [change["text"] for change in changes["changes"]]
    assert "The price list is later instead of 2026-autumn." in told
    sums = f"The total is {whole['totals']['total']} instead of {quote['totals']['total']}."
    assert told[-1] == sums
    problem_of(world.ask("GET", f"{QUOTES}/{number}/revisions/1/changes"), 404, "not_found")
    for name in ("0", "3", "x", "1e3", "9" * 40):
        problem_of(world.ask("GET", f"{QUOTES}/{number}/revisions/{name}"), 404, "not_found")


def test_a_revision_of_a_document_that_makes_no_sense_is_refused_whole(world: World) -> None:
    quote = made(world)
    before = world.rows()
    bad = job()
    bad["jobs"][0]["overlap"] = "9"
    documents: list[Any] = [bad, {}, {"reprice": False}, {"reprice": True, "jobs": []}, [], "x"]
    for body in documents:
        problem_of(pressed(world, quote["number"], "revisions", body), 422, "job_refused")
    assert world.rows() == before


def test_changes_are_told_in_words(world: World) -> None:
    number = made(world)["number"]
    other = job()
    other["reference"] = "W-1022"
    other["customer"]["email"] = "new@example.com"
    other["jobs"][0]["frames"][0]["moulding"] = "MLD-WAL200"
    other["jobs"].append({**job()["jobs"][0], "label": "The second"})
    assert pressed(world, number, "revisions", other).status_code == 201
    changes = world.ask("GET", f"{QUOTES}/{number}/revisions/2/changes").get_json()["changes"]
    told = {change["path"]: change["text"] for change in reversed(changes)}
    assert told["/reference"] == 'The reference is "W-1022" instead of "W-1021".'
    assert told["/customer/email"] == "The customer's email is another."
    assert "new@example.com" not in json.dumps(changes)
    assert "frame MLD-WAL200 (" in told["/jobs/0/lines"]
    assert "in place of MLD-OAK125 (82.65)" in told["/jobs/0/lines"]
    assert told["/jobs/1"].startswith("Job 2 (The second) is new, at ")
    assert told["/jobs/0/sizes/outside"].endswith("instead of 24 3/4 x 28 7/8.")
    assert pressed(world, number, "revisions", job()).status_code == 201
    back = world.ask("GET", f"{QUOTES}/{number}/revisions/3/changes").get_json()["changes"]
    assert "Job 2 (The second) is gone." in [change["text"] for change in back]


def _at_once(world: World, number: str, actions: list[tuple[str, Any]], tag: str) -> list[int]:
    """Each action from a thread and a client of its own, all at the same moment."""
    gate = Barrier(len(actions))
    token = world.tokens["counter"]

    def press(one: tuple[str, Any]) -> int:
        client = world.client.application.test_client()
        gate.wait(60)
        answer = client.post(
            f"{QUOTES}/{number}/{one[0]}",
            data=json.dumps(one[1]),
            content_type="application/json",
            headers={"Authorization": f"Bearer {token}", "If-Match": tag},
        )
        if answer.status_code == 412:
            problem = problem_of(answer, 412, "stale")
            assert problem["present"]["status"] in ("accepted", "declined", "issued", "withdrawn")
        return answer.status_code

    with ThreadPoolExecutor(len(actions)) as pool:
        return list(pool.map(press, actions))


@pytest.mark.parametrize(
    ("actions", "tables"),
    [
        ([("accept", {}), ("decline", {})], "accept or decline"),
        ([("accept", {})] * 4, "accept"),
        ([("accept", {}), ("revisions", {"reprice": True})], "accept or revise"),
        ([("revisions", {"reprice": True})] * 3, "revise"),
        ([("withdraw", {}), ("accept", {})], "withdraw or accept"),
    ],
)
def test_of_writers_at_once_one_wins_and_nothing_is_lost(
    world: World, actions: list[tuple[str, Any]], tables: str
) -> None:
    for _ in range(3):
        answer = world.post(QUOTES, job())
        number, tag = answer.get_json()["number"], answer.headers["ETag"]
        codes = _at_once(world, number, actions, tag)
        won = [code for code in codes if code in (200, 201)]
        assert len(won) == 1, (tables, codes)
        assert set(codes) - {200, 201} <= {412}
        quote = now(world, number)
        winner = actions[next(at for at, code in enumerate(codes) if code in (200, 201))][0]
        states = {"accept": "accepted", "decline": "declined", "revisions": "issued",
                  "withdraw": "withdrawn"}  # fmt: skip
        assert quote["status"] == states[winner]
        assert quote["revision"] == (2 if winner == "revisions" else 1)
        assert len(quote["tickets"]) == (1 if winner == "accept" else 0)


def test_two_nodes_give_out_ticket_numbers_without_gap_or_clash(world: World) -> None:
    tags = []
    for _ in range(6):
        answer = world.post(QUOTES, {**job(), "jobs": job()["jobs"] * 3})
        tags.append((answer.get_json()["number"], answer.headers["ETag"]))
    with ThreadPoolExecutor(6) as pool:
        done = list(pool.map(lambda one: _at_once(world, one[0], [("accept", {})], one[1]), tags))
    assert done == [[200]] * 6
    rows = world.ask("GET", "/v1/cut-tickets?limit=200").get_json()["items"]
    serials = sorted(int(row["number"][1:-1]) for row in rows)
    assert serials == list(range(10_001, 10_019))


def test_a_step_is_done_once_for_an_idempotency_key(world: World) -> None:
    answer = world.post(QUOTES, job())
    number, tag = answer.get_json()["number"], answer.headers["ETag"]
    headers = {"If-Match": tag, "Idempotency-Key": '"press-1"'}
    place = f"{QUOTES}/{number}/accept"
    one = world.ask("POST", place, headers=headers)
    two = world.ask("POST", place, headers=headers)
    assert (one.status_code, one.get_data()) == (two.status_code, two.get_data())
    assert one.status_code == 200
    assert len(world.ask("GET", "/v1/cut-tickets").get_json()["items"]) == 1


def test_the_customers_page_and_paper_have_no_costs(world: World) -> None:
    number = made(world)["number"]
    page = world.ask("GET", f"{QUOTES}/{number}", headers={"Accept": "text/html"})
    assert page.content_type == "text/html; charset=utf-8"
    assert page.headers["Vary"] == "Accept"
    assert "default-src 'none'" in page.headers["Content-Security-Policy"]
    words = page.get_data(as_text=True).lower()
    assert "margin:" in words  # the style sheet's
    assert "markup" not in words.split("</style>")[1]
    assert "margin" not in words.split("</style>")[1]
    for paper in ("letter", "a4"):
        pdf = world.ask(
            "GET", f"{QUOTES}/{number}?paper={paper}", headers={"Accept": "application/pdf"}
        )
        assert pdf.content_type == "application/pdf"
        assert pdf.get_data()[:5] == b"%PDF-"
    for accept, form in (
        ("*/*", "application/json"),
        ("application/json;q=0.5, text/html", "text/html; charset=utf-8"),
        ("application/*", "application/json"),
        ("text/html;q=0, */*;q=0.1", "application/json"),
    ):
        answer = world.ask("GET", f"{QUOTES}/{number}", headers={"Accept": accept})
        assert answer.content_type == form
    other = world.ask("GET", f"{QUOTES}/{number}", headers={"Accept": "image/png"})
    problem_of(other, 406, "not_acceptable")
    bad = world.ask("GET", f"{QUOTES}/{number}?paper=a5")
    problem_of(bad, 400, "bad_parameter")
    drawn = world.ask("GET", f"{QUOTES}/{number}/drawing.svg")
    assert drawn.content_type == "image/svg+xml; charset=utf-8"
    assert "24 3/4" in drawn.get_data(as_text=True)
    for name in ("0", "2", "x"):
        answer = world.ask("GET", f"{QUOTES}/{number}/drawing.svg?job={name}")
        problem_of(answer, 400, "bad_parameter")


def test_a_quote_that_has_not_changed_is_not_sent_again(world: World) -> None:
    number = made(world)["number"]
    tag = world.ask("GET", f"{QUOTES}/{number}").headers["ETag"]
    same = world.ask("GET", f"{QUOTES}/{number}", headers={"If-None-Match": tag})
    assert (same.status_code, same.get_data()) == (304, b"")
    pressed(world, number, "accept")
    other = world.ask("GET", f"{QUOTES}/{number}", headers={"If-None-Match": tag})
    assert other.status_code == 200


def test_the_customer_picks_one_of_several_choices(world: World) -> None:
    quote = made(world)
    number = quote["number"]
    other = job()
    other["jobs"][0]["frames"][0]["moulding"] = "MLD-WAL200"
    world.clock.move(days=2)
    beside = pressed(world, number, "revisions?choice=Walnut", other)
    assert beside.status_code == 201
    shown = beside.get_json()
    assert wrong("Quote", shown) == []
    assert shown["valid_until"] == quote["valid_until"]  # the first one holds no longer than it did
    assert [(c["revision"], c["choice"]) for c in shown["choices"]] == [(1, None), (2, "Walnut")]
    totals = [quote["totals"]["total"], shown["totals"]["total"]]
    assert [choice["total"] for choice in shown["choices"]] == totals
    assert now(world, number)["choices"] == shown["choices"]
    for said in (None, {"revision": 3}):
        refused = problem_of(pressed(world, number, "accept", said), 422, "job_refused")
        assert refused["errors"][0]["pointer"] == "/revision"
    taken = pressed(world, number, "accept", {"revision": 1}).get_json()
    assert wrong("Quote", taken) == []
    assert "choices" not in taken
    for part in ("jobs", "totals", "deposit_due", "revision"):
        assert taken[part] == quote[part]
    assert now(world, number) == taken
    row = world.ask("GET", QUOTES).get_json()["items"][0]
    assert (row["total"], row["deposit_due"]) == (totals[0], quote["deposit_due"])
    ticket = world.ask("GET", f"/v1/cut-tickets/{taken['tickets'][0]['number']}").get_json()
    assert ticket["frames"][0]["item"] == "MLD-OAK125"
    kept = world.ask("GET", f"{QUOTES}/{number}/revisions/2").get_json()
    assert kept["totals"]["total"] == totals[1]
    page = world.ask("GET", f"{QUOTES}/{number}/revisions/2", headers={"Accept": "text/html"})
    assert totals[1] in page.get_data(as_text=True)


def test_a_revision_without_a_name_takes_the_place_of_all_choices(world: World) -> None:
    number = made(world)["number"]
    assert "choices" in pressed(world, number, "revisions?choice=B", job()).get_json()
    assert len(pressed(world, number, "revisions?choice=C", job()).get_json()["choices"]) == 3
    only = pressed(world, number, "revisions", {"reprice": True}).get_json()
    assert "choices" not in only
    problem_of(pressed(world, number, "accept", {"revision": 1}), 422, "job_refused")
    assert pressed(world, number, "accept").get_json()["revision"] == 4


def test_an_expired_quote_has_no_choice_left(world: World) -> None:
    number = made(world)["number"]
    world.clock.move(days=40)
    again = pressed(world, number, "revisions?choice=B", job()).get_json()
    assert (again["status"], "choices" in again) == ("issued", False)
    for name in ("", "x" * 81, "%0A"):
        answer = pressed(world, number, f"revisions?choice={name}", job())
        problem_of(answer, 400, "bad_parameter")
