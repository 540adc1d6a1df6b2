"""The answer to an estimate: its figures hang together as the contract says, by hand arithmetic.

Nothing of the service takes part in the arithmetic here; the documents are read as a caller's
program would read them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import floor
from typing import Any

import pytest

from schemas.estimates.answer import estimate_document
from schemas.labour import load_labour_standard
from schemas.prices.lists import load_price_list
from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from schemas.wire.figures import plain
from schemas.wire.record import UNSET, Record
from service.demo import (
    demo_catalogue,
    demo_document,
    demo_jobs,
    demo_labour_standard,
    demo_price_list,
    demo_shop,
)
from service.domain.estimates.calculation import Basis, estimate_request

BASIS = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
CENT = Fraction(1, 100)


def _estimate(name: str) -> dict[str, Any]:
    request = read(QUOTE_REQUEST, demo_jobs()[name], unit="in")
    document: dict[str, Any] = plain(estimate_document(estimate_request(request.jobs, BASIS)))
    return document


ESTIMATES = {name: _estimate(name) for name in demo_jobs()}
each_estimate = pytest.mark.parametrize("document", ESTIMATES.values(), ids=list(ESTIMATES))


def _half_up(value: Fraction, step: Fraction) -> Fraction:
    return floor(value / step + Fraction(1, 2)) * step


def _lengths(part: Any) -> list[dict[str, str]]:
    if isinstance(part, dict) and set(part) == {"in", "mm", "shop"}:
        return [part]
    inner = part.values() if isinstance(part, dict) else part if isinstance(part, list) else ()
    return [length for each in inner for length in _lengths(each)]


@each_estimate
def test_a_length_says_the_same_three_times(document: dict[str, Any]) -> None:
    """An inch is 25.4 mm exactly (international yard and pound agreement, 1959; NIST SP 811)."""
    lengths = _lengths(document)
    assert len(lengths) > 10
    for length in lengths:
        millimetres = Fraction(length["in"]) * Fraction("25.4")
        assert abs(millimetres - Fraction(length["mm"])) < Fraction(1, 100_000)
        mark = sum(Fraction(part) for part in length["shop"].lstrip("≈").split())
        difference = abs(mark - Fraction(length["mm"]) / Fraction("25.4"))
        assert difference <= Fraction(1, 32)  # half of the ruler's step of 1/16 in
        assert (difference == 0) == (not length["shop"].startswith("≈"))


@each_estimate
def test_every_line_can_be_worked_out_by_hand_from_what_it_shows(document: dict[str, Any]) -> None:
    for job in document["jobs"]:
        for line in job["lines"]:
            quantity, rate = Fraction(line["quantity"]), Fraction(line["rate"])
            amount = {"rate": quantity * rate, "whole": rate}.get(line["method"])
            if amount is None:
                slices = [(Fraction(s["quantity"]), Fraction(s["rate"])) for s in line["slices"]]
                assert sum(part for part, _ in slices) == quantity
                amount = sum((part * at for part, at in slices), Fraction(0))
            amount = max(amount, Fraction(line.get("minimum", "0")))
            if "rounding_step" in line:
                amount = _half_up(amount, Fraction(line["rounding_step"]))
            assert Fraction(line["each"]) == _half_up(amount, CENT), line
            whole = Fraction(line["each"]) * line["pieces"] + Fraction(line.get("set_up", "0"))
            assert Fraction(line["amount"]) == whole, line


@each_estimate
def test_sums_are_the_sums_of_their_parts(document: dict[str, Any]) -> None:
    totals = document["totals"]
    for job in document["jobs"]:
        assert Fraction(job["subtotal"]) == sum(Fraction(line["amount"]) for line in job["lines"])
        off = Fraction(job["subtotal"]) * Fraction(job["percent_off"]) / 100
        assert Fraction(job["discount"]) == _half_up(off, CENT)
        minutes = [Fraction(each["minutes"]) for each in job["labour"]["operations"]]
        assert Fraction(job["labour"]["minutes"]) == sum(minutes)
        for each in job["labour"]["operations"]:
            units = Fraction(each["units"]) * job["quantity"]
            by_hand = Fraction(each["set_up_minutes"]) + Fraction(each["unit_minutes"]) * units
            assert Fraction(each["minutes"]) == by_hand, each
    for part in ("subtotal", "discount"):
        assert Fraction(totals[part]) == sum(Fraction(job[part]) for job in document["jobs"])
    tax = sum(Fraction(each["amount"]) for each in totals["taxes"])
    assert Fraction(totals["tax"]) == tax
    for each in totals["taxes"]:  # each named rate by itself
        exact = Fraction(each["base"]) * Fraction(each["percent"]) / 100
        assert Fraction(each["amount"]) == _half_up(exact, CENT)
    kept = Fraction(totals["subtotal"]) - Fraction(totals["discount"])
    assert Fraction(totals["total"]) == kept + tax


@each_estimate
def test_only_taxable_lines_are_taxed(document: dict[str, Any]) -> None:
    taxed = Fraction(0)
    for job in document["jobs"]:
        for line in job["lines"]:
            assert line["taxable"] == bool(line["tax_category"])
            if line["tax_category"] == "goods":
                taxed += Fraction(line["amount"])
    bases = {Fraction(each["base"]) for each in document["totals"]["taxes"]}
    (base,) = bases
    if all(job["discount"] == "0.00" for job in document["jobs"]):
        assert base == taxed
    else:
        assert base < taxed


@each_estimate
def test_no_figure_is_a_json_float(document: dict[str, Any]) -> None:
    def refuse(text: str) -> None:
        raise AssertionError(f"{text} is a float")

    json.loads(json.dumps(document), parse_float=refuse)


@each_estimate
def test_the_cut_list_has_the_sizes_and_every_path_leads_into_the_request(
    document: dict[str, Any],
) -> None:
    name = next(name for name, each in ESTIMATES.items() if each is document)
    asked: Any = demo_jobs()[name]
    for job in document["jobs"]:
        for piece in job["cut_list"]:
            if piece["part"] in ("glazing", "mount", "backing"):
                assert {n: piece[n] for n in ("width", "height")} == job["sizes"]["package"]
        rails = [p for p in job["cut_list"] if p["part"] == "rail"]
        outermost = [p for p in rails if p["layer"] == max(r["layer"] for r in rails)]
        lengths = {piece["side"]: piece["length"] for piece in outermost}
        outside = job["sizes"]["outside"]
        assert lengths == {"top": outside["width"], "left": outside["height"]}
        for row in (*job["cut_list"], *job["lines"], *job["advisories"]):
            place = asked
            for token in row["path"].split("/")[1:]:
                # A part that the document leaves to the shop has a path of its own all the same.
                place = place[int(token)] if isinstance(place, list) else place.get(token, {})


def test_the_sizes_of_the_worked_job() -> None:
    """Worked by hand in `tests/golden/test_whole_jobs.py`."""
    sizes = ESTIMATES["harbour_etching"]["jobs"][0]["sizes"]
    expected = {
        "opening": ("16 1/8", "19 3/4"),
        "package": ("22 5/8", "26 3/4"),
        "rabbet": ("22 3/4", "26 7/8"),
        "frame_sight": ("22 1/4", "26 3/8"),
        "outside": ("24 3/4", "28 7/8"),
    }
    for name, (width, height) in expected.items():
        assert (sizes[name]["width"]["shop"], sizes[name]["height"]["shop"]) == (width, height)
    assert (sizes["united_inches"], sizes["square_feet"]) == ("49.375", "4.202908")
    feet = [
        each["quantity"]
        for each in ESTIMATES["harbour_etching"]["jobs"][0]["materials"]
        if each["item"] == "MLD-OAK125"
    ]
    assert feet == ["10"]


def test_a_tax_that_is_not_known_is_null_and_named() -> None:

    shop = demo_shop()
    rates = replace(shop.taxation, rates=())
    basis = replace(BASIS, shop=replace(shop, taxation=rates))
    request = read(QUOTE_REQUEST, demo_jobs()["harbour_etching"], unit="in")
    totals: Any = plain(estimate_document(estimate_request(request.jobs, basis)))["totals"]
    assert (totals["tax"], totals["taxes"], totals["tax_unknown"]) == (None, [], ["goods"])
    assert totals["total"] == totals["subtotal"]


def _everything(part: Any) -> Iterator[object]:
    """All that an answer reaches: its records, its lists, and what they hold."""
    yield part
    inner = (getattr(part, name) for name in getattr(part, "__struct_fields__", ()))
    for each in part if isinstance(part, tuple) else inner:
        yield from _everything(each)


@pytest.mark.parametrize("name", demo_jobs())
def test_nothing_that_an_answer_reaches_can_be_changed(name: str) -> None:
    request = read(QUOTE_REQUEST, demo_jobs()[name], unit="in")
    answer = estimate_document(estimate_request(request.jobs, BASIS))
    before, records = plain(answer), 0
    for part in _everything(answer):
        assert isinstance(part, Record | tuple | str | int | None | type(UNSET)), type(part)
        if isinstance(part, Record):
            records += 1
            for field in part.__struct_fields__:
                with pytest.raises(AttributeError):
                    setattr(part, field, "1")
    assert records > 40
    assert plain(answer) == before


def test_a_rule_and_an_operation_that_were_changed_are_written_anew() -> None:
    """What is remembered by code must not outlive the rule or the operation."""
    lists, standard = demo_document("price_list"), demo_document("labour_standard")
    for rule in lists["rules"]:
        rule["minimum"] = "1000"
    for operation in standard["operations"]:
        operation["description"] += "!"
    changed = replace(
        BASIS, price_list=load_price_list(lists), standard=load_labour_standard(standard)
    )
    request = read(QUOTE_REQUEST, demo_jobs()["harbour_etching"], unit="in")
    before = plain(estimate_document(estimate_request(request.jobs, BASIS)))
    after = plain(estimate_document(estimate_request(request.jobs, changed)))
    assert {line["minimum"] for line in after["jobs"][0]["lines"]} == {"1000"}
    old, new = (each["jobs"][0]["labour"]["operations"] for each in (before, after))
    assert [row["description"] for row in new] == [f"{row['description']}!" for row in old]
    assert plain(estimate_document(estimate_request(request.jobs, BASIS))) == before
