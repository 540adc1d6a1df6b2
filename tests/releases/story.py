"""A shop's life, from which a release's kept data come: something of everything that is stored.

Quotes of all demo jobs in every state, of the golden jobs, and of jobs drawn at random; quotes with
special conditions, revisions and choices; tickets that are begun, finished and spoiled; plans,
stock, offcuts, events, webhooks, and an answer that is kept to be given again. All is invented.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import islice
from threading import Event
from typing import Any

from werkzeug.test import TestResponse

from schemas.openapi.examples import examples
from schemas.quotes.answer import StoredQuoteDocuments
from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from service.app.events.delivery import Outcome
from service.app.keys.access import Principal
from service.app.quotes import created, new_quote
from service.cli.deliver import Courier
from service.demo import demo_jobs
from service.domain.estimates.calculation import estimate_request
from service.domain.labour.standard import LabourStandard, Operation
from service.domain.tickets.progress import WAITING
from tests.api.contract.example_runs import send
from tests.api.world import World, job
from tests.bench.varied import Varied
from tests.golden.case import basis_of
from tests.releases.golden import GOLDEN, golden_request

ANY = {"If-Match": "*"}
DRAWN = 12
SEED = 20261128
SPECIAL: tuple[dict[str, Any], ...] = (
    {"discounts": [{"reason": "school by the harbour", "percent": "10"}]},
    {"discounts": [{"reason": "goodwill", "amount": "7.77"}], "tax_exempt": "certificate 7"},
    {"units": "mm"},
)
TEN_MINUTES = LabourStandard("ten", Fraction(30), (Operation("job", "A job", "job", Fraction(10)),))
"""The bench times of the golden jobs, which have none of their own."""
STORY = (
    *("create_webhook", "stock_counted", "offcut_added", "create_price_list", "quote_once"),
    *("create_key", "change_shop", "change_board"),
)
"""Examples that are sent one after the other, last."""


def live(world: World) -> None:
    """Live through it all."""
    for name in demo_jobs():
        _stored(world, job(name), "price")
        _stored(world, job(name))
    world.clock.move(days=45)  # these have expired
    for name in demo_jobs():
        _every_state(world, job(name))
    both = job() | {"jobs": [*job()["jobs"], *job("stacked_poster")["jobs"]]}
    _every_state(world, both)
    for document in _special():
        _stored(world, document)
    for document in islice(_drawn(), DRAWN):
        _stored(world, document)
    _revised(world)
    _golden(world)
    _planned(world)
    for name in STORY:
        send(world, {**examples()[name], "before": ()})
    courier = Courier(world.wiring, Event(), lambda *_: Outcome(503, "", 12))
    courier.run(once=True)
    courier.close()


def _stored(world: World, document: Any, scope: str = "counter") -> str:
    """Store a quote and return its number."""
    return _done(world.post("/v1/quotes", document, scope))["number"]  # type: ignore[no-any-return]


def _done(answer: TestResponse) -> dict[str, Any]:
    assert answer.status_code in (200, 201), answer.get_data(as_text=True)
    document: dict[str, Any] = json.loads(answer.get_data())
    return document


def _step(world: World, number: str, step: str, **body: Any) -> dict[str, Any]:
    return _done(world.post(f"/v1/quotes/{number}/{step}", body, headers=ANY))


def _every_state(world: World, document: dict[str, Any]) -> None:
    _stored(world, document, "price")
    _stored(world, document)
    _step(world, _stored(world, document), "decline", reason="too dear")
    _step(world, _stored(world, document), "withdraw")
    _accepted(world, document)
    taken = _accepted(world, document)
    _step(world, taken["number"], "withdraw", reason="changed their mind")
    begun = _accepted(world, document)["tickets"][0]["number"]
    _bench(world, f"{begun}/pieces/1/start")
    done = _accepted(world, document)["tickets"]
    _bench(world, f"{done[0]['number']}/start")
    _bench(world, f"{done[0]['number']}/pieces/1/start")
    _bench(world, f"{done[0]['number']}/pieces/1/spoil", reason="a corner was overcut")
    for ticket in done:
        _finished(world, ticket["number"])


def _finished(world: World, number: str) -> None:
    """Finish a ticket, and before it the pieces that are cut anew."""
    lots = _done(world.ask("GET", f"/v1/cut-tickets/{number}", "bench"))["progress"]
    for lot in lots:
        if lot.get("recut_of"):
            _bench(world, f"{number}/pieces/{lot['piece']}/start")
            _bench(world, f"{number}/pieces/{lot['piece']}/finish")
    state = _done(world.ask("GET", f"/v1/cut-tickets/{number}", "bench"))["status"]
    if state == WAITING:
        _bench(world, f"{number}/start")
    _bench(world, f"{number}/finish")


def _accepted(world: World, document: dict[str, Any]) -> dict[str, Any]:
    return _step(world, _stored(world, document), "accept")


def _bench(world: World, path: str, **body: Any) -> None:
    _done(world.post(f"/v1/cut-tickets/{path}", body, "bench", headers=ANY))


def _special() -> Iterator[dict[str, Any]]:
    for more in SPECIAL:
        document = job() | more
        document["jobs"][0]["fees"] = ["rush"]
        document["wanted_by"] = "2099-12-31"
        document["jobs"][0]["discounts"] = [
            {"reason": "scratched stick", "amount": "3.50", "component": "frame"}
        ]
        document["jobs"][0]["quantity"] = 5
        yield document


def _drawn() -> Iterator[dict[str, Any]]:
    drawn = Varied(SEED)
    while True:
        yield drawn.document()


def _revised(world: World) -> None:
    plain, other = job(), job("floated_sampler")
    number = _stored(world, plain)
    for path in ("revisions", "revisions?choice=Sampler", "revisions?choice=Both"):
        body = plain if path == "revisions" else other
        _done(world.post(f"/v1/quotes/{number}/{path}", body, headers=ANY))
    taken = _stored(world, plain)
    _done(world.post(f"/v1/quotes/{taken}/revisions?choice=Other", other, headers=ANY))
    _step(world, taken, "accept", revision=1)
    declined = _stored(world, plain)
    _step(world, declined, "decline")
    _done(world.post(f"/v1/quotes/{declined}/revisions", {"reprice": True}, headers=ANY))


def _golden(world: World) -> None:
    """Store each golden job as issued, with its own shop, items, prices and bench times."""
    documents = StoredQuoteDocuments()
    asks = Principal(world.shop_id, world.tokens["counter"].split("_")[1], frozenset({"counter"}))
    for case in GOLDEN:
        basis = replace(basis_of(case), standard=TEN_MINUTES)
        body = json.dumps(golden_request(case)).encode()
        asked = read(QUOTE_REQUEST, json.loads(body), unit=basis.shop.ruler.unit)
        estimate = estimate_request(asked.jobs, basis, asked.conditions)
        now, id_ = world.clock(), world.wiring.new_id()
        with world.wiring.units.writing() as uow:
            new = new_quote(asked, body, estimate, documents, asks, now, id_)
            uow.quotes.add(replace(new, reference=case.name[:80]), noted=created)
            uow.commit()


def _planned(world: World) -> None:
    number = _accepted(world, job("six_photographs"))["tickets"][0]["number"]
    plan = _done(world.post("/v1/cutting-plans", {"tickets": [number], "dry_run": False}, "bench"))[
        "number"
    ]
    _done(world.post(f"/v1/cutting-plans/{plan}/commit", {}, "bench", headers=ANY))
    other = _accepted(world, job("stacked_poster"))["tickets"][0]["number"]
    _done(world.post("/v1/cutting-plans", {"tickets": [other], "dry_run": False}, "bench"))
