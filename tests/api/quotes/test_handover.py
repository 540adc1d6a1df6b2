"""Finished work on its way to the customer, and what is paid for it; common practice, no source.

The card number is the one that ISO/IEC 7812-1's check digit is usually shown with; it is nobody's.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.api.contract.shapes import wrong
from tests.api.quotes.test_steps import QUOTES, made, now, pressed
from tests.api.world import World, faults_of, job, problem_of

ANY = {"If-Match": "*"}
THREE = {**job(), "jobs": job()["jobs"] * 3}


def accepted(world: World, document: Any = None) -> dict[str, Any]:
    quote = made(world, document=document)
    return dict(pressed(world, quote["number"], "accept").get_json())


def bench(world: World, ticket: str, action: str, body: Any = None, scope: str = "bench") -> Any:
    place = f"/v1/cut-tickets/{ticket}/{action}"
    return world.ask("POST", place, scope, headers=ANY, json=body or {})


def done(world: World, ticket: str) -> None:
    for action in ("start", "finish"):
        assert bench(world, ticket, action).status_code == 200


def pay(world: World, quote: str, amount: str, reference: str, **more: str) -> TestResponse:
    body = {"amount": amount, "paid_by": "card", "reference": reference, **more}
    return world.post(f"{QUOTES}/{quote}/payments", body)


def test_three_tickets_are_shelved_and_collected_in_two_turns(world: World) -> None:
    quote = accepted(world, THREE)
    number, tickets = quote["number"], [each["number"] for each in quote["tickets"]]
    for ticket in tickets:
        done(world, ticket)
    assert now(world, number)["status"] == "done"
    assert "handover" not in now(world, number)
    for ticket in tickets:
        shelved = bench(world, ticket, "shelve", {"shelf": f"B {ticket[-1]}"})
        assert wrong("Ticket", shelved.get_json()) == []
        assert shelved.get_json()["handover"] == "ready"
    assert now(world, number)["handover"] == "ready"
    moved = bench(world, tickets[0], "shelve", {"shelf": "rack by the door"}).get_json()
    assert (moved["shelf"], moved["status"]) == ("rack by the door", "done")
    first = bench(world, tickets[0], "collect", {"by": "a neighbour"}, "counter").get_json()
    assert (first["handover"], first["collected_by"]) == ("collected", "a neighbour")
    part = now(world, number)
    assert part["handover"] == "partly_collected"
    assert [each["status"] for each in part["tickets"]] == ["collected", "ready", "ready"]
    whole = pressed(world, number, "collect").get_json()
    assert wrong("Quote", whole) == []
    assert (whole["status"], whole["handover"]) == ("done", "collected")
    refused = problem_of(pressed(world, number, "collect"), 409, "wrong_state")
    assert "left to collect" in refused["detail"]
    problem_of(bench(world, tickets[1], "collect", scope="counter"), 409, "wrong_state")
    problem_of(bench(world, tickets[1], "shelve", {"shelf": "B"}), 409, "wrong_state")


def test_what_is_not_done_is_not_handed_over_and_nothing_else_with_it(world: World) -> None:
    quote = accepted(world, THREE)
    tickets = [each["number"] for each in quote["tickets"]]
    done(world, tickets[0])
    before = now(world, quote["number"])
    refused = problem_of(pressed(world, quote["number"], "collect"), 409, "wrong_state")
    assert tickets[1] in refused["detail"]
    assert "started" in refused["detail"]
    assert now(world, quote["number"]) == before
    problem_of(bench(world, tickets[1], "shelve", {"shelf": "B"}), 409, "wrong_state")
    taken = bench(world, tickets[0], "collect", scope="counter")
    assert taken.status_code == 200
    assert now(world, quote["number"])["handover"] == "partly_collected"
    assert now(world, quote["number"])["status"] == "in_work"


def test_a_place_on_the_shelf_is_named(world: World) -> None:
    quote = accepted(world)
    (ticket,) = (each["number"] for each in quote["tickets"])
    done(world, ticket)
    assert faults_of(bench(world, ticket, "shelve", {})) == {"/shelf": "missing_field"}
    assert bench(world, ticket, "collect").status_code == 403  # the bench hands nothing over


def test_what_is_paid_comes_off_the_balance_to_the_cent(world: World) -> None:
    quote = accepted(world)
    number, total = quote["number"], float(quote["totals"]["total"])
    assert (quote["paid"], quote["balance_due"]) == ("0.00", quote["totals"]["total"])
    taken = pay(world, number, quote["deposit_due"], "TILL-1")
    assert wrong("PaymentList", taken.get_json()) == []
    assert taken.status_code == 201
    rest = taken.get_json()["balance_due"]
    assert float(rest) == pytest.approx(total - float(quote["deposit_due"]))
    assert now(world, number)["balance_due"] == rest
    pay(world, number, rest, "TILL-2", paid_by="cash")
    assert pay(world, number, "-5.00", "TILL-3").get_json()["balance_due"] == "5.00"
    shown = world.ask("GET", f"{QUOTES}/{number}/payments", "reports").get_json()
    assert [each["reference"] for each in shown["items"]] == ["TILL-1", "TILL-2", "TILL-3"]
    kinds = [e["kind"] for e in world.ask("GET", "/v1/events").get_json()["items"]]
    assert kinds.count("quote.paid") == 3


def test_a_payment_that_is_told_twice_is_recorded_once(world: World) -> None:
    number = accepted(world)["number"]
    first = pay(world, number, "20.00", "TILL-1").get_json()
    etag = world.ask("GET", f"{QUOTES}/{number}").headers["ETag"]
    assert pay(world, number, "20.00", "TILL-1").get_json() == first
    assert world.ask("GET", f"{QUOTES}/{number}").headers["ETag"] == etag
    refused = problem_of(pay(world, number, "21.00", "TILL-1"), 409, "conflict")
    assert "20.00 by card" in refused["detail"]
    assert pay(world, accepted(world)["number"], "20.00", "TILL-1").status_code == 201


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"amount": "0"}, "/amount"),
        ({"amount": "1.005"}, "/amount"),
        ({"amount": "10000"}, "/amount"),
        ({"amount": "-0.01"}, "/amount"),
        ({"amount": "much"}, "/amount"),
        ({"paid_by": "beads"}, "/paid_by"),
        ({"reference": "4111 1111 1111 1111"}, "/reference"),
        ({"reference": "visa 4111-1111-1111-1111 ok"}, "/reference"),
        ({"reference": ""}, "/reference"),
        ({"card": "4111111111111111"}, "/card"),
    ],
)
def test_a_payment_that_makes_no_sense_is_named(
    world: World, body: dict[str, str], pointer: str
) -> None:
    number = accepted(world)["number"]
    before = world.rows()
    sent = {"amount": "1.00", "paid_by": "card", "reference": "TILL-1", **body}
    refused = world.post(f"{QUOTES}/{number}/payments", sent)
    assert list(faults_of(refused)) == [pointer]
    assert "4111111111111111" not in refused.get_data(as_text=True)
    assert world.rows() == before


def test_a_deposit_comes_before_the_acceptance_and_goes_back_after_a_withdrawal(
    world: World,
) -> None:
    draft = made(world, "price")["number"]
    assert list(faults_of(pay(world, draft, "20.00", "TILL-1"))) == ["/amount"]
    number = made(world)["number"]
    assert pay(world, number, "20.00", "TILL-1").get_json()["balance_due"] == "-20.00"
    assert pressed(world, number, "withdraw").get_json()["balance_due"] == "-20.00"
    assert list(faults_of(pay(world, number, "1.00", "TILL-2"))) == ["/amount"]
    assert pay(world, number, "-20.00", "TILL-3").get_json()["balance_due"] == "0.00"


def _at_once(calls: list[Callable[[], TestResponse]]) -> list[int]:
    """Two nodes in one: each call has its own transaction, and both begin together."""
    barrier = Barrier(len(calls))

    def call(one: Callable[[], TestResponse]) -> int:
        barrier.wait()
        return one().status_code

    with ThreadPoolExecutor(len(calls)) as pool:
        return sorted(pool.map(call, calls))


def test_two_tills_report_one_payment_at_once_and_it_counts_once(world: World) -> None:
    number = accepted(world)["number"]
    calls = [lambda: pay(world, number, "20.00", "TILL-1")] * 4
    assert _at_once(calls) == [201] * 4
    assert now(world, number)["paid"] == "20.00"


def test_two_tills_settle_the_rest_at_once_and_one_is_told(world: World) -> None:
    quote = accepted(world)
    number, total = quote["number"], quote["totals"]["total"]
    calls = [lambda r=r: pay(world, number, total, r) for r in ("TILL-1", "TILL-2")]
    assert _at_once(calls) == [201, 422]
    assert now(world, number)["balance_due"] == "0.00"


def test_two_tills_hand_one_quote_over_at_once_and_one_is_told(world: World) -> None:
    quote = accepted(world)
    (ticket,) = (each["number"] for each in quote["tickets"])
    done(world, ticket)
    calls = [lambda: pressed(world, quote["number"], "collect")] * 2
    assert _at_once(calls) == [200, 409]
    kinds = [e["kind"] for e in world.ask("GET", "/v1/events").get_json()["items"]]
    assert kinds.count("quote.collected") == 1


@pytest.mark.parametrize(
    ("step", "amount", "rounding"),
    [
        # Canada, Budget 2012: in cash 1.02 is paid as 1.00 and 1.03 as 1.05; cards stay exact.
        ("0.05", "1.02", "-0.02"),
        ("0.05", "1.03", "0.02"),
        ("0", "1.03", "0.00"),
    ],
)
def test_cash_is_rounded_in_the_hand_and_settles_what_it_settles(
    world: World, step: str, amount: str, rounding: str
) -> None:
    shop = world.ask("GET", "/v1/shop").get_json()
    shop["ordering"]["cash_step"] = step
    assert world.ask("PUT", "/v1/shop", "admin", headers=ANY, json=shop).status_code == 200
    quote = accepted(world)
    total = float(quote["totals"]["total"])
    told = pay(world, quote["number"], amount, "TILL-1", paid_by="cash").get_json()
    (shown,) = told["items"]
    assert (shown["amount"], shown["rounding"]) == (amount, rounding)
    assert float(told["balance_due"]) == pytest.approx(total - float(amount))
    card = pay(world, quote["number"], amount, "TILL-2").get_json()["items"][1]
    assert card["rounding"] == "0.00"
