"""Stored documents: every field is kept, and every value comes back exactly."""

from __future__ import annotations

import json
from dataclasses import MISSING, fields
from fractions import Fraction
from typing import Any, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain import shop
from service.domain.bench.materials import MATERIALS
from service.domain.jobs.use import COMPONENTS
from service.domain.jobs.work import WORKS
from service.domain.labour import standard
from service.domain.labour.standard import Operation
from service.domain.measure.length import Length, Size
from service.domain.measure.ruler import Ruler
from service.domain.prices import lists
from service.domain.prices.lists import Bracket, PriceRule, QuantityBreak
from service.domain.shop import DRIVERS
from service.persistence.sql import documents
from service.persistence.sql.codec import (
    EXACT,
    BadDocument,
    Codec,
    exact_text,
    read_json,
    write_json,
)

LENGTHS = st.builds(Length, st.integers(-(2**62), 2**62))
EXACTS = st.fractions() | st.decimals(allow_nan=False, allow_infinity=False).map(Fraction)
AMOUNTS = st.fractions(min_value=0)
TEXTS = st.text()

st.register_type_strategy(Length, LENGTHS)
st.register_type_strategy(Size, st.builds(Size, LENGTHS, LENGTHS))
st.register_type_strategy(Fraction, EXACTS)
st.register_type_strategy(
    Ruler, st.sampled_from([Ruler("in", Length.inches("0.0625")), Ruler("cm", Length(16_000))])
)
STEPS = st.integers(1, 10**9).map(lambda millionths: Fraction(millionths, 10**6))
SHARES = st.sets(st.integers(1, 99)).map(
    lambda percents: (*(Fraction(percent, 100) for percent in sorted(percents)), Fraction(1))
)
st.register_type_strategy(
    shop.Billing,
    st.builds(
        shop.Billing,
        square_foot_step=STEPS,
        linear_foot_step=STEPS,
        perimeter_foot_step=STEPS,
        minute_step=STEPS,
        square_foot_minimum=STEPS,
        linear_foot_minimum=STEPS,
        sheet_shares=SHARES,
    ),
)
st.register_type_strategy(
    shop.SupplyUse,
    st.builds(shop.SupplyUse, item=st.text(min_size=1), role=st.just(""))
    | st.builds(shop.SupplyUse, item=st.just(""), role=st.text(min_size=1)),
)
FACTORS = st.fractions(min_value=0)
LEVEL_FACTORS = st.lists(
    st.builds(shop.LevelFactor, factor=FACTORS), unique_by=lambda each: each.component
).map(tuple)
st.register_type_strategy(
    shop.PriceLevel,
    st.builds(shop.PriceLevel, code=st.text(), name=st.text(), factors=LEVEL_FACTORS),
)
ENDINGS = st.builds(
    shop.PriceEnding,
    at=st.sampled_from(shop.ENDINGS_AT),
    step=st.fractions(min_value=1),
    ending=st.fractions(min_value=0, max_value=Fraction(1, 2)),
)
FLOORS = st.lists(
    st.builds(shop.LeastMargin, percent=FACTORS, component=st.text()),
    max_size=3,
    unique_by=lambda floor: floor.component,
).map(tuple)
st.register_type_strategy(
    shop.Charging,
    st.builds(
        shop.Charging, order_minimum=FACTORS, ending=st.none() | ENDINGS, least_margin=FLOORS
    ),
)
PRESETS = st.lists(st.from_type(shop.Preset), max_size=3, unique_by=lambda each: each.art)
st.register_type_strategy(
    shop.QuoteForm,
    st.builds(
        shop.QuoteForm,
        contact=st.sampled_from(shop.CONTACTS_ASKED),
        presets=PRESETS.map(tuple),
    ),
)
MINUTES = st.tuples(*[st.integers(0, 1_440)] * 7).filter(any)
st.register_type_strategy(
    shop.Ordering,
    st.builds(
        shop.Ordering,
        deposit_percent=st.fractions(min_value=0, max_value=100),
        working_minutes=MINUTES,
        lead_days=st.integers(min_value=0),
    ),
)

PARTS = st.fractions(min_value=2)
st.register_type_strategy(shop.Hanging, st.builds(shop.Hanging, ring_parts=PARTS, wire_parts=PARTS))


st.register_type_strategy(
    shop.MaterialWay,
    st.sampled_from(
        [
            shop.MaterialWay(code, way)
            for code, material in MATERIALS.items()
            for way in material.cut_by
        ]
    ),
)


def _of_class(of: type[Any]) -> st.SearchStrategy[Any]:
    """Any value of a class, each field with its default or another one.

    The default factory of a Struct is no default that hypothesis knows.
    """
    hints, given = get_type_hints(of), {}
    for each in fields(of):
        other = st.from_type(hints[each.name])
        factory = each.default_factory
        default = each.default if factory is MISSING else factory()
        given[each.name] = other if default is MISSING else st.just(default) | other
    return st.builds(of, **given)


for made_with_defaults in (shop.Safety, shop.Shop):
    st.register_type_strategy(made_with_defaults, _of_class(made_with_defaults))

BRACKET_TABLES = st.tuples(
    st.sets(st.fractions(min_value=Fraction(1, 9)), max_size=5), st.lists(AMOUNTS, min_size=6)
).map(
    lambda t: tuple(
        Bracket(end, rate) for end, rate in zip((*sorted(t[0]), None), t[1], strict=False)
    )
)


@st.composite
def rules(draw: st.DrawFn) -> PriceRule:
    component = draw(st.sampled_from(COMPONENTS))
    standard = component in ("labour", "service", "work")  # has no cost that could be marked up
    methods = [method for method in lists.METHODS if not (standard and method in lists.MARKUPS)]
    alone = {"labour": ("minute",), "service": lists.SERVICE_BASES}
    others = set(lists.BASES) - {"minute", *lists.SERVICE_BASES[1:]}
    bases = alone.get(component, sorted(others))
    method = draw(st.sampled_from(methods))
    table = method in lists.TABLES
    amounts: dict[str, Any] = {
        name: draw(AMOUNTS) for name in ("rate", "above", "minimum", "set_up", "rounding_step")
    }
    words: dict[str, Any] = {
        name: draw(TEXTS) for name in ("item", "group", "supply", "charge", "tax_category")
    }
    if component == "service":
        words["item"] = words["item"] or "delivery"
    if component == "work":
        words["item"] = draw(st.sampled_from(sorted(WORKS)))
    always = component == "fee" and bool(words["item"])
    return PriceRule(
        applies=draw(st.sampled_from(lists.APPLIES)) if always else "asked",
        description=draw(TEXTS),
        code=draw(TEXTS),
        component=component,
        basis=draw(st.sampled_from(bases)),
        method=method,
        brackets=draw(BRACKET_TABLES) if table else (),
        **amounts,
        **words,
    )


BREAKS = st.builds(
    QuantityBreak, st.integers(min_value=2), st.fractions(min_value=0, max_value=100)
)
OPERATIONS = st.builds(Operation, TEXTS, TEXTS, st.sampled_from(sorted(DRIVERS)), AMOUNTS, AMOUNTS)


def _round_trip(codec: Codec[Any], value: Any) -> None:
    text = write_json(codec, value)
    assert read_json(codec, text) == value
    assert write_json(codec, read_json(codec, text)) == text


@given(st.from_type(shop.Shop))
def test_a_shop_comes_back_exactly(one: shop.Shop) -> None:
    _round_trip(documents.SHOP, one)


@given(st.lists(rules(), max_size=4).map(tuple))
def test_rules_come_back_exactly(some: tuple[PriceRule, ...]) -> None:
    _round_trip(documents.RULES, some)


@given(st.lists(BREAKS).map(tuple))
def test_breaks_come_back_exactly(some: tuple[QuantityBreak, ...]) -> None:
    _round_trip(documents.BREAKS, some)


@given(st.lists(OPERATIONS).map(tuple))
def test_operations_come_back_exactly(some: tuple[Operation, ...]) -> None:
    _round_trip(documents.OPERATIONS, some)


@given(EXACTS)
def test_exact_text_is_what_python_reads_as_the_same_fraction(number: Fraction) -> None:
    assert Fraction(exact_text(number)) == number


@pytest.mark.parametrize(
    ("number", "text"),
    [  # decimals end just where the denominator has no prime factors but 2 and 5
        (Fraction(1, 8), "0.125"),
        (Fraction(-1, 80), "-0.0125"),
        (Fraction(10**18), "1000000000000000000"),
        (Fraction(1, 3), "1/3"),
        (Fraction(7, 6), "7/6"),
    ],
)
def test_exact_text_is_decimal_where_a_decimal_ends(number: Fraction, text: str) -> None:
    assert EXACT.encode(number) == text


def _written_fields(value: Any, document: Any) -> None:
    """Compare a value's dataclass fields with its document's, all the way down."""
    if isinstance(value, Length | Size | Fraction | str | int | None):
        return
    if isinstance(value, tuple):
        for one, written in zip(value, document, strict=True):
            _written_fields(one, written)
        return
    names = [field.name for field in fields(value) if field.init]
    assert list(document) == names, type(value).__name__
    for name in names:
        _written_fields(getattr(value, name), document[name])


USE = shop.SupplyUse("piece", Fraction(1, 3), item="WIRE")
WHOLE_SHOP = shop.Shop(
    code="corner",
    name="Corner",
    currency="USD",
    time_zone="UTC",
    ruler=Ruler("in", Length.inches("0.0625")),
    taxation=shop.Taxation(
        rates=(shop.TaxRate(category="goods", name="State", percent=Fraction("6.25")),)
    ),
    mounting=(shop.Method("hinged", "Hinged", "hinged_mounts", (USE,)),),
    finishing=(shop.Method("wire", "Wire", "hanging_sets"),),
)
RULE = PriceRule(
    code="MAT",
    component="mat",
    basis="united_inch",
    method="whole",
    brackets=(Bracket(Fraction(45), Fraction("18.50")), Bracket(None, Fraction(31))),
)


def test_every_field_of_the_domain_is_written() -> None:
    written: tuple[tuple[Codec[Any], Any], ...] = (
        (documents.SHOP, WHOLE_SHOP),
        (documents.RULES, (RULE,)),
        (documents.BREAKS, (QuantityBreak(2, Fraction(5)),)),
        (documents.OPERATIONS, (standard.Operation("cut", "Cut", "rails", Fraction(1)),)),
    )
    for codec, value in written:
        _written_fields(value, codec.encode(value))


def test_the_form_at_rest_is_this_one() -> None:
    # Documents outlive releases: a change of this form needs a migration.
    assert json.loads(write_json(documents.RULE, RULE)) == {
        "code": "MAT",
        "component": "mat",
        "basis": "united_inch",
        "method": "whole",
        "rate": "0",
        "brackets": [{"up_to": "45", "rate": "18.5"}, {"up_to": None, "rate": "31"}],
        "item": "",
        "group": "",
        "supply": "",
        "charge": "material",
        "above": "0",
        "minimum": "0",
        "set_up": "0",
        "rounding_step": "0",
        "tax_category": "goods",
        "applies": "asked",
        "description": "",
    }
    # 1/16 in and 1/8 in in ticks of 1/16 µm, with 1 in = 25.4 mm (NIST SP 811, appendix B)
    settings = json.loads(write_json(documents.SHOP, WHOLE_SHOP))
    assert settings["ruler"] == {"unit": "in", "step": 25_400}
    assert settings["sizing"]["allowance"] == 50_800


def test_a_setting_added_since_takes_its_default() -> None:
    document = documents.SHOP.encode(WHOLE_SHOP)
    del document["quote_valid_days"]
    del document["sizing"]["spacer"]
    read = documents.SHOP.decode(document)
    by_name = {field.name: field.default for field in fields(shop.Shop)}
    assert read.quote_valid_days == by_name["quote_valid_days"] != MISSING
    assert read.sizing.spacer == shop.Sizing().spacer


def test_a_field_nobody_knows_is_refused_and_not_dropped() -> None:
    document = {**documents.SHOP.encode(WHOLE_SHOP), "opening_hours": "9 to 5"}
    with pytest.raises(BadDocument, match="opening_hours"):
        documents.SHOP.decode(document)


@pytest.mark.parametrize(
    ("name", "value"),
    [("quote_valid_days", 30.0), ("quote_valid_days", True), ("name", None), ("ruler", [])],
)
def test_a_value_of_another_type_is_refused(name: str, value: Any) -> None:
    document = {**documents.SHOP.encode(WHOLE_SHOP), name: value}
    with pytest.raises(BadDocument):
        documents.SHOP.decode(document)


def test_what_is_not_json_or_not_whole_is_refused() -> None:
    with pytest.raises(BadDocument, match="not JSON"):
        read_json(documents.RULES, "[")
    with pytest.raises(BadDocument, match="not whole"):
        read_json(documents.RULES, '[{"code": "MAT"}]')
