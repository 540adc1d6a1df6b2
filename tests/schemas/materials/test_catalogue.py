"""Catalogue documents go in and out without a tick or a digit lost, and say what is wrong."""

import json
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.materials.catalogue import (
    ITEM_DOCUMENTS,
    KIND_OF,
    dump_cost,
    dump_item,
    load_cost,
    load_item,
)
from service.domain.errors import JobRefused
from service.domain.materials.catalogue import (
    Board,
    Consumable,
    Fillet,
    Glazing,
    Hardware,
    ItemCost,
    Moulding,
)
from service.domain.measure.length import Length, Size


def inches(text: str) -> Length:
    return Length.inches(Fraction(text))


ITEMS = [
    Moulding(
        code="M1",
        description="Oak",
        group="oak",
        face_width=inches("5/4"),
        rabbet_width=inches("1/4"),
        rabbet_depth=inches("5/8"),
        stick_lengths=(inches("120"), Length.millimetres(3000)),
        weight_kg_per_m=Fraction("0.41"),
        supplies=("length", "chop", "join"),
        pattern_runs=True,
        colour="natural",
    ),
    Moulding(
        code="M2",
        description="A floater",
        face_width=inches("1/2"),
        rabbet_width=Length(0),
        rabbet_depth=inches("3/2"),
        stick_lengths=(inches("120"),),
        weight_kg_per_m=Fraction("0.4"),
        floater=True,
        discontinued=True,
    ),
    Board(
        code="B1",
        description="Mat",
        thickness=Length.millimetres("1.4"),
        sheets=(Size(inches("32"), inches("40")),),
        weight_kg_per_m2=Fraction("1.05"),
        uses=("mat", "mount"),
        ply=4,
        grade=1,
        grain=True,
    ),
    Board(
        code="B2",
        description="Foam",
        thickness=inches("3/16"),
        sheets=(Size(inches("32"), inches("40")), Size(Length.millimetres(1000), inches("60"))),
        weight_kg_per_m2=Fraction("0.6"),
        uses=("backing",),
    ),
    Glazing(
        code="G1",
        description="Glass",
        kind="glass",
        thickness=Length.millimetres(2),
        sheets=(Size(inches("32"), inches("40")),),
        uv_percent=Fraction("97.5"),
        uv_range="300-380 nm",
        finish="low reflection",
        build="coated",
    ),
    Glazing(
        code="G2",
        description="Acrylic",
        kind="acrylic",
        thickness=Length.millimetres("4.5"),
        sheets=(Size(inches("48"), inches("96")),),
    ),
    Fillet(
        code="F1",
        description="Fillet",
        width=inches("1/8"),
        depth=inches("1/4"),
        stick_lengths=(inches("96"),),
        weight_kg_per_m=Fraction("0.05"),
    ),
    Hardware(code="H1", description="Wire", role="wire", rating_kg=Fraction(9)),
    Consumable(code="S1", description="Tape", thickness=Length.millimetres("0.05"), grade=2),
]


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.code)
def test_every_item_comes_back_from_its_document_as_it_was(item):
    document = json.loads(json.dumps(dump_item(item)), parse_float=Decimal)
    assert load_item(document) == item
    assert load_item(document, kind=document["kind"], unit="mm") == item
    assert dump_item(load_item(document)) == document


def test_every_kind_of_item_has_a_document():
    assert set(KIND_OF.values()) == set(ITEM_DOCUMENTS)
    assert {type(item) for item in ITEMS} == set(KIND_OF)


@given(st.integers(1, 10**7), st.decimals(0, 50, places=6))
def test_no_tick_and_no_digit_of_a_board_is_lost(ticks, weight):
    board = Board(
        code="B",
        description="",
        thickness=Length(ticks),
        sheets=(Size(Length(ticks + 1), Length(ticks + 2)),),
        weight_kg_per_m2=Fraction(weight),
    )
    assert load_item(dump_item(board)) == board


def test_a_document_holds_lengths_as_a_framer_writes_them():
    document = dump_item(ITEMS[0])
    assert document["face_width"] == "1 1/4 in"
    assert document["stick_lengths"] == ["120 in", "3000 mm"]
    assert document["weight_kg_per_m"] == "0.41"
    assert dump_item(ITEMS[2])["sheets"] == ["32 x 40 in"]
    assert dump_item(ITEMS[4])["material"] == "glass"


def test_bare_lengths_are_in_the_unit_of_the_document_or_else_of_the_shop():
    plain = {"code": "F", "description": "", "width": 5, "depth": 6, "stick_lengths": [2440]}
    plain |= {"weight_kg_per_m": "0.1", "kind": "fillet"}
    assert load_item(plain, unit="mm").width == Length.millimetres(5)
    assert load_item({**plain, "units": "mm"}, unit="in").width == Length.millimetres(5)


def faults_of(document: object, kind: str = "") -> list[tuple[str, str]]:
    with pytest.raises(JobRefused) as refused:
        load_item(document, kind=kind)
    return [(fault.pointer, fault.code) for fault in refused.value.faults()]


def test_what_the_domain_refuses_is_told_in_the_wires_names():
    document = dump_item(ITEMS[0]) | {"rabbet_width": "2 in"}
    assert faults_of(document) == [("/rabbet_width", "bad_value")]
    document = dump_item(ITEMS[4]) | {"uv_range": ""}
    assert faults_of(document) == [("/uv_range", "bad_value")]


def test_all_that_is_wrong_with_an_item_is_told_at_once():
    document = {"kind": "board", "code": "", "thickness": "thin", "sheets": [], "shets": 1}
    assert faults_of(document) == [
        ("/code", "bad_text"),
        ("/thickness", "bad_length"),
        ("/sheets", "bad_value"),
        ("/shets", "unknown_field"),
        ("/description", "missing_field"),
        ("/weight_kg_per_m2", "missing_field"),
    ]


@pytest.mark.parametrize("document", [None, [], {}, {"kind": "frame"}, {"kind": ["board"]}])
def test_a_document_that_does_not_say_its_kind_is_refused(document):
    assert faults_of(document) == [("/kind", "bad_choice")]


def test_a_document_of_another_kind_is_refused_where_the_kind_is_known():
    assert ("/kind", "bad_choice") in faults_of(dump_item(ITEMS[7]), kind="glazing")


def test_a_cost_comes_back_as_it_was_and_is_a_decimal():
    for cost in (
        ItemCost("B1", "sheet", Fraction("8.25"), Size(inches("32"), inches("40"))),
        ItemCost("M1", "linear_foot", Fraction("2.4")),
    ):
        assert load_cost(dump_cost(cost)) == cost
    with pytest.raises(JobRefused, match="1/3"):
        load_cost({"item": "M1", "basis": "piece", "cost": "1/3"})
    with pytest.raises(JobRefused, match="at least 0"):
        load_cost({"item": "M1", "basis": "piece", "cost": "-1"})
