"""The documents of a stored quote: what is kept, that it explains itself, and what is shown."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from fractions import Fraction
from typing import Any

import pytest

from schemas.quotes.answer import (
    Papers,
    StoredQuoteDocuments,
    costs_document,
    head_document,
    listed_document,
    quote_document,
)
from schemas.quotes.figures.documents import worked_now
from schemas.quotes.records import QuoteHead, Revision
from schemas.quotes.request import QUOTE_REQUEST
from schemas.quotes.stored import stored_basis, worked
from schemas.wire.document import read
from schemas.wire.figures import instant, plain
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.estimates.calculation import Basis, Estimate, estimate_request
from service.domain.quotes.life import Customer

BASIS = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
DOCUMENTS = StoredQuoteDocuments()
HEAD = QuoteHead(
    id="019abcde-f000-7000-8000-000000000001",
    shop_id="s1",
    serial=10_001,
    status="issued",
    revision=1,
    reference="W-1",
    customer=b'{"name":"A. Caller"}',
    currency="JPY",
    total_minor=1_200,
    created_at=datetime(2026, 11, 25, 15, 4, 5, 6, tzinfo=UTC),
    updated_at=datetime(2026, 11, 26, tzinfo=UTC),
    valid_until=date(2026, 12, 25),
    created_by="k1",
)


def _asked(*names: str) -> bytes:
    jobs = [job for name in names for job in demo_jobs()[name]["jobs"]]
    units = demo_jobs()[names[0]]["units"]
    return json.dumps({"units": units, "jobs": jobs}, default=str).encode()


def _worked(asked: bytes, basis: Basis = BASIS) -> Estimate:
    return estimate_request(read(QUOTE_REQUEST, json.loads(asked), unit="in").jobs, basis)


def _revision(asked: bytes, basis: Basis = BASIS) -> Revision:
    done = _worked(asked, basis)
    kept: dict[str, Any] = {
        "request": asked,
        "result": DOCUMENTS.result(done),
        "papers": DOCUMENTS.papers(done),
        "costs": DOCUMENTS.costs(worked_now(done)),
        "figures": DOCUMENTS.figures(worked_now(done)),
    }
    return Revision(**kept)


SETS = [
    *[(name,) for name in demo_jobs()],
    ("harbour_etching", "six_photographs", "stacked_poster"),
    ("stacked_poster", "six_photographs", "harbour_etching", "floated_sampler"),
]


@pytest.mark.parametrize("names", SETS, ids="+".join)
def test_a_quote_explains_itself_from_what_it_keeps_alone(names: tuple[str, ...]) -> None:
    revision = _revision(_asked(*names))
    kept = worked(revision)
    again = kept.estimate
    assert DOCUMENTS.result(again) == revision.result
    assert DOCUMENTS.costs(kept) == revision.costs
    assert DOCUMENTS.figures(kept) == revision.figures
    assert DOCUMENTS.papers(again) == revision.papers


def test_it_keeps_what_it_used_and_nothing_else() -> None:
    revision = _revision(_asked("canvas_in_floater"))
    basis = stored_basis(revision)
    assert len(basis.catalogue.items) < 12 < len(BASIS.catalogue.items)
    unadorned = replace(BASIS.shop.letterhead, logo="")
    assert basis.shop == replace(BASIS.shop, letterhead=unadorned)
    assert basis.standard == BASIS.standard
    used = {line["rule"] for job in json.loads(revision.result)["jobs"] for line in job["lines"]}
    assert used <= {rule.code for rule in basis.price_list.rules}
    for code, item in basis.catalogue.items.items():
        assert item == BASIS.catalogue.items[code]


def test_what_did_not_change_is_the_same_paper_from_quote_to_quote() -> None:
    one, other = _revision(_asked("harbour_etching")), _revision(_asked("six_photographs"))
    shared = {paper.digest for paper in one.papers} & {paper.digest for paper in other.papers}
    assert {paper.digest for paper in one.papers if paper.kind != "item"} <= shared


def test_costs_margin_and_markup() -> None:
    """The usual definitions: margin = (price - cost) / price, markup = price / cost; before tax."""
    done = _worked(_asked("six_photographs"))
    costs: Any = plain(costs_document(done))
    net = Fraction(done.totals.net().text())
    cost = Fraction(costs["cost"])
    assert abs(Fraction(costs["margin"]) - (net - cost) / net) < Fraction(1, 10_000)
    assert abs(Fraction(costs["markup"]) - net / cost) < Fraction(1, 10_000)
    (job,) = costs["jobs"]
    parts = Fraction(job["materials"]) + Fraction(job["labour"])
    assert abs(parts - Fraction(job["cost"])) <= Fraction(1, 100)  # each is rounded by itself
    assert job["unknown"] == []


def test_a_cost_that_is_not_known_is_null_and_named() -> None:
    costs = {c: known for c, known in BASIS.catalogue.costs.items() if c != "GLZ-AC45"}
    basis = replace(BASIS, catalogue=type(BASIS.catalogue)(BASIS.catalogue.items, costs))
    document: Any = plain(costs_document(_worked(_asked("stacked_poster"), basis)))
    assert document["jobs"][0]["unknown"] == ["GLZ-AC45"]
    for shown in (document, document["jobs"][0]):
        assert (shown["cost"], shown["margin"], shown["markup"]) == (None, None, None)


def test_a_head_and_a_row() -> None:
    shown = plain(head_document(HEAD))
    assert shown == {
        "id": HEAD.id,
        "number": "Q100014",
        "status": "issued",
        "revision": 1,
        "reference": "W-1",
        "customer": {"name": "A. Caller"},
        "created_at": "2026-11-25T15:04:05.000006Z",
        "updated_at": "2026-11-26T00:00:00.000000Z",
        "valid_until": "2026-12-25",
        "deposit_due": "0",
        "paid": "0",
        "balance_due": "0",  # nothing is due before the quote is accepted
        "promised": None,
    }
    assert plain(head_document(HEAD, "expired"))["status"] == "expired"
    doc = plain(head_document(replace(HEAD, deposit_minor=600, reason="too dear")))
    assert (doc["deposit_due"], doc["reason"]) == ("600", "too dear")
    row = plain(listed_document(HEAD))
    assert row == {**shown, "currency": "JPY", "total": "1200"}  # the yen has no minor digits


@pytest.mark.parametrize(
    ("costs", "expected"), [(None, {}), (b'{"cost":"1"}', {"costs": {"cost": "1"}})]
)
def test_a_quote_is_its_head_and_the_very_bytes_of_its_result(
    costs: bytes | None, expected: dict[str, Any]
) -> None:
    result = b'{"currency":"JPY","totals":{"total":"1200"}}'
    document = quote_document(HEAD, result, costs)
    assert document.endswith(result[1:])
    shown = json.loads(document)
    assert {name: shown[name] for name in expected} == expected
    assert ("costs" in shown) == (costs is not None)


def test_a_customer_is_kept_without_empty_fields() -> None:
    kept = DOCUMENTS.customer(Customer(name="M. Okafor", note="a\nb"))
    assert json.loads(kept) == {"name": "M. Okafor", "note": "a\nb"}
    assert DOCUMENTS.customer(Customer()) == b"{}"


def test_instants_are_utc_whatever_zone_they_came_in() -> None:
    east = timezone(timedelta(hours=5, minutes=30))
    assert instant(datetime(2026, 11, 25, 20, 34, 5, tzinfo=east)) == "2026-11-25T15:04:05.000000Z"


def test_things_that_never_change_are_written_once() -> None:
    written: list[object] = []

    def write(thing: object) -> object:
        written.append(thing)
        return [len(written)]

    papers = Papers("item", write, most=2)
    one, other = ["a"], ["a"]
    shown: Callable[[object], bytes] = lambda thing: papers(thing).document  # noqa: E731
    assert (shown(one), shown(one), shown(other), shown(one)) == (b"[1]", b"[1]", b"[2]", b"[1]")
    assert shown(["a"]) == b"[3]"  # full: all are forgotten
    assert shown(one) == b"[4]"
