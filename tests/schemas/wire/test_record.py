"""Records cannot be changed, interpreted or compiled, and are written whole."""

from __future__ import annotations

import fnmatch
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import msgspec
import pytest

import schemas.openapi.document as _every_record_is_defined_by_now
from schemas.wire import record
from schemas.wire.figures import written
from schemas.wire.record import UNSET, Record, Unset, at_least, doc, encode, named

TOP = Path(__file__).parents[3]
assert _every_record_is_defined_by_now


class Part(Record):
    """A part."""

    code: Annotated[str, doc("Its code.")]


class Whole(Record):
    """A whole."""

    first: Annotated[int, at_least(1, "The first.")] = named(name="in")
    parts: Annotated[tuple[Part, ...], doc("Its parts.")]
    more: Annotated[str, doc("More.")] | Unset = UNSET
    last: Annotated[str | None, doc("The last, or null.")] = None


def every_record(base: type[Record] = Record) -> Iterator[type[Record]]:
    for each in base.__subclasses__():
        yield each
        yield from every_record(each)


RECORDS = sorted(
    (each for each in every_record() if each.__module__.startswith("schemas.")),
    key=lambda each: (each.__module__, each.__name__),
)
each_record = pytest.mark.parametrize("kind", RECORDS, ids=lambda kind: kind.__qualname__)


@each_record
def test_every_record_is_frozen_and_its_fields_have_types(kind: type[Record]) -> None:
    """Compiled by mypyc, a record would lose both."""
    told: Any = msgspec.inspect.type_info(kind)
    assert not [field for field in told.fields if isinstance(field.type, msgspec.inspect.AnyType)]
    assert kind.__struct_config__.frozen
    one = kind(**dict.fromkeys(kind.__struct_fields__))
    for name in kind.__struct_fields__:
        for change in (setattr, object.__setattr__):
            with pytest.raises((AttributeError, TypeError)):
                change(one, name, 1)
        with pytest.raises(AttributeError):
            delattr(one, name)
        assert getattr(one, name) is None


@each_record
def test_a_record_is_defined_where_nothing_is_compiled(kind: type[Record]) -> None:
    hook = tomllib.loads((TOP / "pyproject.toml").read_text())["tool"]["hatch"]["build"]
    compiled = hook["targets"]["wheel"]["hooks"]["mypyc"]["include"]
    path = kind.__module__.replace(".", "/") + ".py"
    assert not [pattern for pattern in compiled if fnmatch.fnmatch(path, pattern)]
    assert sys.modules[kind.__module__].__file__.endswith(".py")  # type: ignore[union-attr]


@each_record
def test_a_record_holds_no_list_that_could_be_changed(kind: type[Record]) -> None:
    assert not list(_changeable(msgspec.inspect.type_info(kind), set()))


def _changeable(part: Any, seen: set[type]) -> Iterator[object]:
    if isinstance(part, msgspec.inspect.StructType):
        if part.cls in seen:
            return
        seen.add(part.cls)
        part = [field.type for field in part.fields]
    if isinstance(part, list | tuple):
        for each in part:
            yield from _changeable(each, seen)
        return
    if isinstance(part, msgspec.inspect.ListType | msgspec.inspect.SetType):
        yield part
    for name in ("type", "types", "item_type", "item_types", "value_type"):
        if (inner := getattr(part, name, None)) is not None:
            yield from _changeable(inner, seen)


def test_a_record_is_written_in_the_order_of_its_fields_and_read_back() -> None:
    one = Whole(3, (Part("a"), Part("b")))
    text = b'{"in":3,"parts":[{"code":"a"},{"code":"b"}],"last":null}'
    assert encode(one) == written(one) == text
    assert msgspec.json.decode(text, type=Whole) == one
    assert (
        written({"one": one, "rows": [one.parts[0]]})
        == b'{"one":' + text + b',"rows":[{"code":"a"}]}'
    )


def test_fields_that_a_later_release_knows_are_passed_over_and_missing_ones_are_named() -> None:
    later = b'{"in":3,"parts":[],"last":null,"later":[1]}'
    assert msgspec.json.decode(later, type=Whole) == Whole(3, ())
    with pytest.raises(msgspec.ValidationError, match=r"\$\.parts\[0\]"):
        msgspec.json.decode(b'{"in":3,"parts":[{}]}', type=Whole)


def test_what_is_no_record_is_not_written() -> None:
    with pytest.raises(TypeError):
        written({"one": object()})


def test_a_pattern_is_published_and_not_run() -> None:
    told = record.text("Its number.", "^Q", "Q1")
    assert told.pattern is None
    assert told.extra_json_schema == {"pattern": "^Q", "examples": ["Q1"]}
