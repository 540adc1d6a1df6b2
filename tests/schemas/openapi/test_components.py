"""The JSON Schema of records: the vocabulary of the contract, and true of what is written."""

from __future__ import annotations

from typing import Annotated, Literal

import orjson
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]

from schemas.openapi.components import RECORDS, record_shapes
from schemas.wire.record import UNSET, Record, Unset, at_least, doc, encode, growing
from schemas.wire.values import Day, Instant, Length, Money, Ratio


class Inner(Record):
    """A part of the whole.

    It has a length.
    """

    length: Annotated[Length, doc("How long it is.")]


class Outer(Record, kw_only=True):
    """The whole."""

    amount: Annotated[Money, doc("What it costs.")]
    tax: Annotated[Money | None, doc("The tax; null if unknown.")]
    margin: Annotated[Ratio | None, doc("The margin.")]
    day: Annotated[Day | None, doc("The day.")]
    at: Annotated[Instant, doc("When.")]
    count: Annotated[int, at_least(1, "How many.")]
    way: Annotated[Literal["up", "down"], doc("Which way.")]
    kind: Annotated[str, growing(("a", "b"), "What kind.")]
    inner: Annotated[Inner | None, doc("The part; null if there is none.")]
    parts: Annotated[tuple[Inner, ...], doc("The parts.")]
    note: Annotated[str, doc("A note.")] | Unset = UNSET


SHAPES = record_shapes((Outer,))
FIELDS = SHAPES["Outer"]["properties"]


def test_the_components_are_the_records_and_the_named_kinds_of_text() -> None:
    assert set(SHAPES) == {"Outer", "Inner", "Length", "Money"}
    assert SHAPES["Inner"]["description"] == "A part of the whole. It has a length."
    assert SHAPES["Money"]["pattern"] == r"^-?[0-9]+(\.[0-9]+)?$"
    assert SHAPES["Money"]["type"] == "string"
    assert set(SHAPES["Outer"]["required"]) == set(FIELDS) - {"note"}


def test_fields_are_described_in_the_words_of_the_contract() -> None:
    money = {"$ref": "#/components/schemas/Money"}
    inner = {"$ref": "#/components/schemas/Inner"}
    assert FIELDS["amount"] == {**money, "description": "What it costs."}
    assert FIELDS["tax"]["anyOf"] == [money, {"type": "null"}]
    assert FIELDS["margin"] == {
        "type": ["string", "null"],
        "pattern": r"^-?[0-9]+(\.[0-9]{1,4})?$",
        "description": "The margin.",
    }
    assert FIELDS["day"] == {
        "type": ["string", "null"],
        "format": "date",
        "description": "The day.",
    }
    assert FIELDS["count"] == {"type": "integer", "minimum": 1, "description": "How many."}
    assert FIELDS["way"]["type"] == "string"
    assert set(FIELDS["way"]["enum"]) == {"up", "down"}
    assert FIELDS["kind"]["x-known-values"] == ["a", "b"]
    assert "enum" not in FIELDS["kind"]
    assert FIELDS["inner"]["anyOf"] == [inner, {"type": "null"}]
    assert FIELDS["parts"] == {"type": "array", "items": inner, "description": "The parts."}
    assert FIELDS["note"] == {"type": "string", "description": "A note."}


def test_what_is_written_keeps_to_the_schema_and_what_is_wrong_does_not() -> None:
    schema = {"$ref": "#/components/schemas/Outer", "components": {"schemas": SHAPES}}
    checker = Draft202012Validator(schema)
    length = Length("1", "25.4", "1")
    inner = Inner(length)
    one = Outer(
        amount="1.50",
        tax=None,
        margin="0.25",
        day=None,
        at="2026-11-28T09:00:00.000000Z",
        count=1,
        way="up",
        kind="c",
        inner=None,
        parts=(inner,),
    )
    written = orjson.loads(encode(one))
    assert not list(checker.iter_errors(written))
    for name, value in (("amount", "1,50"), ("count", 0), ("way", "left"), ("parts", [{}])):
        assert list(checker.iter_errors({**written, name: value})), name


def test_no_two_records_of_the_contract_have_the_same_name() -> None:
    assert not [name for name in record_shapes(RECORDS) if "." in name]
