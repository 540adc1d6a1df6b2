"""Every quote that a release stored is shown, explained, sold, made and reported by this one.

No release may refuse the sale of a stored quote, or change an amount of it. What is expected is
what the release itself stored: its answers are compared with what this one does.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import timedelta
from fractions import Fraction
from typing import Any

import orjson
from sqlalchemy import update

from schemas.quotes.records import Revision
from schemas.quotes.stored import worked
from schemas.tickets.stored import made_tickets
from schemas.wire.figures import number as number_text
from service.api.http.negotiation import printed_head
from service.domain.estimates.calculation import CALCULATION
from service.domain.quotes.life import DRAFT, OPEN
from service.persistence.quotes import quotes
from service.printing.tickets.text import ticket_text
from tests.api.demo_copies import START
from tests.api.world import World
from tests.proofs import LONG

ANY = {"If-Match": "*"}
REPORTS = (
    *(
        "sales",
        "sales-by-component",
        "sales-by-item",
        "margins",
        "materials",
        "purchases",
        "cutting",
    ),
    *("labour", "overdue", "spoiled", "price-list-drift"),
)
NEAR = Fraction(1, 1000)
PAGE, PDF = {"Accept": "text/html"}, {"Accept": "application/pdf"}
EVERY_SO_MANY = 7
"""Of so many quotes one is printed as PDF, which takes longer than all the rest."""


def _got(world: World, path: str, scope: str = "counter", **more: Any) -> Any:
    answer = world.ask("GET", path, scope, **more)
    assert answer.status_code == 200, (path, answer.get_data(as_text=True)[:2_000])
    return json.loads(answer.get_data()) if answer.is_json else answer.get_data()


def _done(world: World, path: str, body: Any = None, scope: str = "counter") -> Any:
    answer = world.post(path, {} if body is None else body, scope, headers=ANY)
    assert answer.status_code in (200, 201), (path, answer.get_data(as_text=True)[:2_000])
    return json.loads(answer.get_data())


def _quotes(world: World) -> list[dict[str, Any]]:
    found, path = [], "/v1/quotes?limit=200"
    while path:
        page = _got(world, path)
        found += page["items"]
        path = page["next"] and f"/v1/quotes?limit=200&cursor={page['next']}"
    return found


def _revisions(world: World) -> Iterator[tuple[str, Revision]]:
    for quote in _quotes(world):
        for number in range(1, quote["revision"] + 1):
            with world.wiring.units.reading() as uow:
                yield quote["number"], uow.quotes.revision(world.shop_id, quote["id"], number)


def _stopped(quote: dict[str, Any]) -> bool:
    said = [advisory for job in quote["jobs"] for advisory in job["advisories"]]
    return any(advisory["severity"] == "stop" for advisory in said)


def test_every_quote_is_shown_and_printed(still: World) -> None:
    for place, quote in enumerate(_quotes(still)[:: _each(still)]):
        path = f"/v1/quotes/{quote['number']}"
        shown = _got(still, path)
        assert shown["totals"]["total"] == quote["total"]
        assert quote["total"].encode() in _got(still, path, headers=PAGE)
        if place % EVERY_SO_MANY == 0:
            assert _got(still, f"{path}/drawing.svg").startswith(b"<svg")
            assert _got(still, path, headers=PDF).startswith(b"%PDF-")


def test_every_quote_is_explained_by_the_figures_that_it_stored(still: World) -> None:
    for quote in _quotes(still)[:: _each(still)]:
        shown = _got(still, f"/v1/quotes/{quote['number']}")
        why = _got(still, f"/v1/quotes/{quote['number']}/workings")
        results = {row["figure"]: row["result"] for row in why["workings"]}
        assert results["/totals/total"] == shown["totals"]["total"]
        for at, job in enumerate(shown["jobs"]):
            assert results[f"/jobs/{at}/subtotal"] == job["subtotal"]
            assert results[f"/jobs/{at}/labour/minutes"] == job["labour"]["minutes"]
            for line, row in enumerate(job["lines"]):
                assert results[f"/jobs/{at}/lines/{line}/amount"] == row["amount"]
        if any("now" in row for row in why["workings"]):  # a later calculation counts otherwise
            assert why["worked_out_by"]["calculation"] != CALCULATION


def test_every_revision_keeps_its_amounts_minutes_and_material(still: World) -> None:
    _keeps_all(still, filled=True)


def test_what_the_release_beside_this_one_stores_is_read_the_same_way(beside: World) -> None:
    _keeps_all(beside, filled=False)


def _keeps_all(world: World, *, filled: bool) -> None:
    for number, revision in _revisions(world):
        assert (revision.figures is not None) == filled
        sold, told = worked(revision), json.loads(revision.result)
        assert sold.sale.total.text() == told["totals"]["total"], number
        assert sum(part.net for part in sold.sale.parts) == (sold.sale.total - sold.sale.tax).minor
        material: dict[tuple[str, str], Fraction] = {}
        for job, done in zip(told["jobs"], sold.estimate.jobs, strict=True):
            assert done.subtotal.text() == job["subtotal"]
            assert len(done.pieces) == len(job["cut_list"])
            for row in job["materials"]:
                key = row["item"], row["basis"]
                material[key] = material.get(key, Fraction(0)) + Fraction(row["quantity"])
        used = {(use.item, use.basis): use.millionths for use in sold.sale.materials}
        assert used == {key: quantity * 1_000_000 for key, quantity in material.items()}


def test_every_open_quote_is_promised_sold_and_made(kept: World) -> None:
    """The expired ones too, as if they had been asked for in time."""
    with kept.wiring.engine.begin() as connection:
        connection.execute(update(quotes).values(valid_until=START.date() + timedelta(days=90)))
    open_quotes = [quote for quote in _quotes(kept) if quote["status"] in OPEN]
    assert open_quotes
    for place, quote in enumerate(open_quotes):
        if place % _each(kept) == 0:
            _sold(kept, quote["number"], whole=place % EVERY_SO_MANY == 0)


def _each(world: World) -> int:
    """Of how many quotes one is taken: PostgreSQL holds the same ones, so a few are enough there.

    With TEST_LONG=1 every one.
    """
    return 4 if world.wiring.engine.dialect.name == "postgresql" and not LONG else 1


def _sold(world: World, number: str, *, whole: bool = False) -> None:
    """Promise a quote, accept it and work on its tickets; one that a warning stops is refused.

    What a release issued stays issued; what it left as a draft is not issued with a stop.
    """
    path = f"/v1/quotes/{number}"
    shown = _got(world, path)
    minutes = sum(Fraction(job["labour"]["minutes"]) for job in shown["jobs"])
    assert abs(Fraction(_got(world, f"{path}/promise")["minutes"]) - minutes) < NEAR
    if shown["status"] == DRAFT and _stopped(shown):
        refused = world.post(f"{path}/issue", {}, headers=ANY)
        assert refused.get_json()["type"].endswith(":ticket_refused")
        return
    if shown["status"] == DRAFT:
        _done(world, f"{path}/issue")
    said = {"revision": shown["revision"]}
    if _stopped(shown):
        refused = world.post(f"{path}/accept", said, headers=ANY)
        assert refused.get_json()["type"].endswith(":ticket_refused")
        return
    if whole:
        _got(world, f"{path}/from-rack")
    taken = _done(world, f"{path}/accept", said)
    assert taken["totals"] == shown["totals"]
    assert taken["jobs"] == shown["jobs"]
    assert taken["deposit_due"] == shown["deposit_due"]
    for ticket, job in zip(taken["tickets"], shown["jobs"], strict=True):
        _made(world, ticket["number"], job, whole=whole)


def _made(world: World, number: str, job: dict[str, Any], *, whole: bool) -> None:
    """Work on a ticket that was made from a stored quote; planned and printed too, if `whole`."""
    path = f"/v1/cut-tickets/{number}"
    ticket = _got(world, path, "bench")
    assert ticket["label"] == job["label"]
    assert ticket["minutes"] == job["labour"]["minutes"]
    _the_same_cuts(ticket, job)
    if whole:
        assert b"<html" in _got(world, path, "bench", headers=PAGE)
        assert _got(world, path, "bench", headers=PDF).startswith(b"%PDF-")
        _done(world, "/v1/cutting-plans", {"tickets": [number], "dry_run": True}, "bench")
        with world.wiring.units.reading() as uow:
            stored = uow.tickets.by_serial(world.shop_id, int(number[1:-1]))
        printed = ticket_text(orjson.loads(stored.document), printed_head(stored.head, "Shop"), 80)
        assert number in printed
    if ticket["pieces"]:
        _done(world, f"{path}/pieces/1/spoil", {"reason": "a slip"}, "bench")


def _the_same_cuts(ticket: dict[str, Any], job: dict[str, Any]) -> None:
    """The ticket cuts what the quote's cut list says, to the tick."""
    for piece, row in zip(ticket["pieces"], job["cut_list"], strict=True):
        assert (piece["item"], piece["quantity"]) == (row["item"], row["quantity"])
        for side in ("width", "height", "length"):
            assert piece.get(side, {}).get("mm") == row.get(side, {}).get("mm")


def test_every_report_counts_what_was_sold(still: World) -> None:
    for name in REPORTS:
        _got(still, f"/v1/reports/{name}", "reports")
    drift = _got(still, "/v1/reports/price-list-drift", "reports")
    open_quotes = [quote for quote in _quotes(still) if quote["status"] in OPEN]
    assert len(drift["rows"]) == len(open_quotes)


def test_no_later_rule_takes_a_ticket_from_a_quote_that_is_closed(still: World) -> None:
    for number, revision in _revisions(still):
        told = json.loads(revision.result)
        if not _stopped(told):
            made = made_tickets(worked(revision).estimate)
            for ticket, job in zip(made, told["jobs"], strict=True):
                _the_same_cuts(json.loads(ticket.document), job)
                assert number_text(ticket.minutes) == job["labour"]["minutes"], number
