"""Domain objects to JSON documents and back, field by field, for settings, rules and operations.

A codec is a pair of functions between a domain value and what JSON can hold. Lengths are whole
ticks and other exact numbers are text, so a document holds no number that JSON could round. These
documents belong to storage: the wire format differs and changes for other reasons.

`record` names every field. A field missing from an older document takes the dataclass's default; an
unknown one is refused, since it would be lost when next written.

>>> EXACT.encode(Fraction(1, 8)), EXACT.encode(Fraction(1, 3)), EXACT.decode("0.125")
('0.125', '1/3', Fraction(1, 8))
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any, Generic, TypeVar

from service.domain.measure.length import Length, Size
from service.domain.measure.rounding import decimal_text

T = TypeVar("T")
U = TypeVar("U")


class BadDocument(Exception):
    """A stored document that this release cannot read: written by another release, or by hand."""


@dataclass(frozen=True, slots=True)
class Codec(Generic[T]):
    """The conversion of one type to JSON and back."""

    encode: Callable[[T], Any]
    decode: Callable[[Any], T]


def exact_text(number: Fraction) -> str:
    """Return the number as decimal text, or as "p/q" in lowest terms if no decimal is exact."""
    fives = twos = 0
    rest = number.denominator
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    if rest != 1:
        return str(number)
    return decimal_text(number.numerator, number.denominator, max(fives, twos))


def _of_type(kind: type[T]) -> Callable[[Any], T]:
    """Return a reader of JSON values of exactly this type; a bool is not an int here."""

    def read(value: Any) -> T:
        if type(value) is not kind:
            raise BadDocument(f"{value!r} stands where a {kind.__name__} was expected")
        return value

    return read


def _same(value: T) -> T:
    return value


TEXT: Codec[str] = Codec(_same, _of_type(str))
WHOLE: Codec[int] = Codec(_same, _of_type(int))
FLAG: Codec[bool] = Codec(_same, _of_type(bool))
EXACT: Codec[Fraction] = Codec(exact_text, lambda text: Fraction(TEXT.decode(text)))
DAY: Codec[date] = Codec(date.isoformat, lambda text: date.fromisoformat(TEXT.decode(text)))
TICKS: Codec[Length] = Codec(lambda length: length.ticks, lambda n: Length(WHOLE.decode(n)))


def many(codec: Codec[T]) -> Codec[tuple[T, ...]]:
    """Return a codec for tuples of any length."""

    def encode(values: Iterable[T]) -> list[Any]:
        return [codec.encode(value) for value in values]

    def decode(values: Any) -> tuple[T, ...]:
        return tuple(codec.decode(value) for value in _of_type(list)(values))

    return Codec(encode, decode)


def pair(first: Codec[T], second: Codec[U]) -> Codec[tuple[T, U]]:
    """Return a codec for pairs."""

    def encode(values: tuple[T, U]) -> list[Any]:
        return [first.encode(values[0]), second.encode(values[1])]

    def decode(values: Any) -> tuple[T, U]:
        one, other = _of_type(list)(values)
        return first.decode(one), second.decode(other)

    return Codec(encode, decode)


def perhaps(codec: Codec[T]) -> Codec[T | None]:
    """Return a codec for a value or null."""
    return Codec(
        lambda value: None if value is None else codec.encode(value),
        lambda value: None if value is None else codec.decode(value),
    )


def record(kind: Callable[..., T], **fields: Codec[Any]) -> Codec[T]:
    """Return a codec for objects with named fields."""

    def encode(value: T) -> dict[str, Any]:
        return {name: codec.encode(getattr(value, name)) for name, codec in fields.items()}

    def decode(document: Any) -> T:
        given = _of_type(dict)(document)
        unknown = sorted(given.keys() - fields.keys())
        if unknown:
            raise BadDocument(f"{', '.join(unknown)}: not known to this release")
        try:
            return kind(**{name: fields[name].decode(value) for name, value in given.items()})
        except TypeError as error:
            raise BadDocument(f"a stored document is not whole: {error}") from error

    return Codec(encode, decode)


SIZE: Codec[Size] = Codec(
    lambda size: [size.width.ticks, size.height.ticks],
    lambda two: Size(*many(TICKS).decode(two)),
)


def write_json(codec: Codec[T], value: T) -> str:
    """Return the document of a value.

    The standard library's JSON module is used because it keeps integers of any size; faster ones
    turn those beyond 64 bits into floats.
    """
    return json.dumps(codec.encode(value), ensure_ascii=False, separators=(",", ":"))


def read_json(codec: Codec[T], text: str | bytes) -> T:
    """Return the value of a document.

    Raises:
        BadDocument: not a document that this codec wrote.
    """
    try:
        document = json.loads(text)
    except ValueError as error:
        raise BadDocument("a stored document is not JSON") from error
    return codec.decode(document)
