"""A change of order after the acceptance: what stays, what is lost, what it comes to.

That finished pieces of a job that is dropped are lost, and begun ones with them, is common
practice, no source.
"""

from __future__ import annotations

from typing import Any

from tests.api.contract.shapes import wrong
from tests.api.quotes.test_handover import accepted, bench, done, pay
from tests.api.quotes.test_steps import QUOTES, now, pressed
from tests.api.world import World, job, problem_of

ANY = {"If-Match": "*"}


def both() -> dict[str, Any]:
    """The etching, and the poster after it."""
    return {**job(), "jobs": [*job()["jobs"], *job("stacked_poster")["jobs"]]}


def changed(world: World, quote: str, document: Any) -> Any:
    answer = world.post(f"{QUOTES}/{quote}/revisions", document, headers=ANY)
    assert answer.status_code == 201, answer.get_json()
    assert wrong("Quote", answer.get_json()) == []
    return answer.get_json()


def wider() -> dict[str, Any]:
    """The same, but the poster in another frame."""
    document = both()
    document["jobs"][1]["frames"] = [{"moulding": "MLD-OAK125"}]
    return document


def test_a_job_that_stays_keeps_its_ticket_and_what_is_cut_of_the_other_is_told(
    world: World,
) -> None:
    quote = accepted(world, both())
    number = quote["number"]
    etching, poster = (each["number"] for each in quote["tickets"])
    bench(world, etching, "start")
    assert bench(world, poster, "pieces/1/finish").status_code == 200
    after = changed(world, number, wider())
    assert (after["status"], after["revision"]) == ("in_work", 2)
    kept, new = after["tickets"]
    assert (kept["number"], kept["job"], kept["status"]) == (etching, 1, "in_work")
    assert (new["job"], new["status"]) == (2, "waiting")
    assert new["number"] not in (etching, poster)
    (lost,) = after["already_cut"]
    assert lost["ticket"] == poster
    assert float(lost["cost"]) > 0
    assert world.ask("GET", f"/v1/cut-tickets/{poster}").get_json()["status"] == "withdrawn"
    spoiled = world.ask("GET", "/v1/reports/spoiled", "reports").get_json()
    assert [(row["ticket"], row["cost"]) for row in spoiled["rows"]] == [(poster, lost["cost"])]
    sales = world.ask("GET", "/v1/reports/sales", "reports").get_json()["totals"][0]
    assert (sales["sold"], sales["sold_total"]) == (1, after["totals"]["total"])
    for ticket in (etching, new["number"]):
        bench(world, ticket, "start")
        assert bench(world, ticket, "finish").status_code == 200
    assert now(world, number)["status"] == "done"


def test_a_job_may_be_dropped_and_another_moves_up(world: World) -> None:
    quote = accepted(world, both())
    etching, poster = (each["number"] for each in quote["tickets"])
    pay(world, quote["number"], quote["totals"]["total"], "TILL-1")
    after = changed(world, quote["number"], {**both(), "jobs": both()["jobs"][1:]})
    assert [(t["number"], t["job"]) for t in after["tickets"]] == [(poster, 1)]
    assert float(after["balance_due"]) < 0  # the shop owes the etching back
    assert "already_cut" not in after
    again = changed(world, quote["number"], both())  # and the customer thinks better of it
    assert [t["job"] for t in again["tickets"]] == [1, 2]
    assert again["tickets"][1]["number"] == poster
    assert etching not in [t["number"] for t in again["tickets"]]
    assert again["balance_due"] == "0.00"
    assert pressed(world, quote["number"], "withdraw").status_code == 200


def test_the_same_order_again_changes_no_ticket(world: World) -> None:
    quote = accepted(world, both())
    after = changed(world, quote["number"], {**both(), "reference": "by telephone"})
    assert after["tickets"] == quote["tickets"]
    assert after["promised"] == quote["promised"]


def test_an_order_whose_last_open_job_is_dropped_is_done(world: World) -> None:
    quote = accepted(world, both())
    etching, _ = (each["number"] for each in quote["tickets"])
    done(world, etching)
    after = changed(world, quote["number"], job())
    assert after["status"] == "done"


def test_what_is_collected_is_not_changed(world: World) -> None:
    quote = accepted(world, both())
    etching, _ = (each["number"] for each in quote["tickets"])
    done(world, etching)
    bench(world, etching, "collect", scope="counter")
    document = {**both(), "jobs": both()["jobs"][1:]}
    before = world.rows()
    refused = world.post(f"{QUOTES}/{quote['number']}/revisions", document, headers=ANY)
    assert etching in problem_of(refused, 409, "conflict")["detail"]
    assert world.rows() == before


def test_what_is_done_as_a_whole_is_not_changed(world: World) -> None:
    quote = accepted(world)
    done(world, quote["tickets"][0]["number"])
    refused = world.post(f"{QUOTES}/{quote['number']}/revisions", both(), headers=ANY)
    problem_of(refused, 409, "wrong_state")
    choice = world.post(
        f"{QUOTES}/{accepted(world)['number']}/revisions?choice=Oak", both(), headers=ANY
    )
    problem_of(choice, 400, "bad_parameter")
