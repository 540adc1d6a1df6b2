"""Length fields: one length, a size, the four sides.

A bare length is in the document's unit, which `document.read` sets while it reads: a context
variable, so that it need not be passed to every field, and threads and tests do not interfere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextvars import ContextVar
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, ClassVar

from marshmallow import ValidationError
from marshmallow.exceptions import SCHEMA

from schemas.wire.base import Shape, WireField
from schemas.wire.faults import UnknownField, refusal
from service.domain.errors import BadLength
from service.domain.measure.length import TICKS_PER_INCH, TICKS_PER_MM, Length, Sides, Size
from service.domain.measure.parse import read_length, read_number, read_size
from service.domain.measure.rounding import decimal_text

UNITS = ("in", "mm", "cm")
DOCUMENT_UNIT: ContextVar[str] = ContextVar("document_unit", default="in")
"""The unit of bare lengths in the document now being read."""
AS_SHOWN: ContextVar[Callable[[Length], object] | None] = ContextVar("as_shown", default=None)
"""The length format of the answer being written; by default text with a unit."""


def length_of(value: object) -> Length:
    """Return a length from its wire form: text with or without a unit, or a JSON number.

    Raises:
        ValidationError: not a length.
    """
    try:
        if type(value) is str:
            return read_length(value, DOCUMENT_UNIT.get())
        if type(value) is int or type(value) is Decimal:
            return read_number(value, DOCUMENT_UNIT.get())
    except BadLength as error:
        raise refusal(error.code, error.message) from error
    raise refusal("bad_length", 'a length is written as "16 3/8 in", "415.9 mm" or a plain number')


@lru_cache(maxsize=4_096)
def length_text(length: Length) -> str:
    """Return a length as text with a unit that reads back to the same tick: 1 1/4 in, 415.9 mm."""
    parts = Fraction(length.ticks, TICKS_PER_INCH)
    if parts.denominator > 64 or parts.denominator & (parts.denominator - 1):
        return f"{decimal_text(length.ticks, TICKS_PER_MM, 7)} mm"
    return f"{_inches(parts)} in"


def _inches(inches: Fraction) -> str:
    sign, (whole, part) = "-" if inches < 0 else "", divmod(abs(inches), 1)
    if not part:
        return f"{sign}{whole}"
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"


def size_text(size: Size) -> str:
    """Return a size as text: 32 x 40 in."""
    width, height = length_text(size.width), length_text(size.height)
    if width[-2:] == height[-2:]:
        return f"{width[:-3]} x {height}"
    return f"{width} x {height}"


class LengthField(WireField[Length]):
    """A length. Loads to `Length`; dumps to text with a unit."""

    shape: ClassVar[Shape] = {
        "oneOf": [{"type": "string", "maxLength": 40}, {"type": "number", "minimum": 0}],
        "description": "a length: 16 3/8 in, 415.9 mm, or a bare number in the document's units",
    }

    def read(self, value: Any) -> Length:
        """Return a length from its text or number."""
        return length_of(value)

    def _serialize(self, value: Length | None, attr: Any, obj: Any, **kwargs: Any) -> Any:
        if value is None:
            return None
        shown = AS_SHOWN.get()
        return length_text(value) if shown is None else shown(value)


def _lengths(value: Mapping[str, object], names: tuple[str, ...]) -> list[Length]:
    """Return the named lengths of an object that has these and no others; all faults at once."""
    faults: dict[str, Any] = {}
    read: list[Length] = []
    for name in names:
        try:
            if name not in value:
                raise refusal("missing_field", f"{name} is missing; it is needed here")
            read.append(length_of(value[name]))
        except ValidationError as error:
            faults[name] = error.messages
    unknown = [UnknownField(str(key), names) for key in value if key not in names]
    if unknown:
        faults[SCHEMA] = unknown
    if faults:
        raise ValidationError(faults)
    return read


class SizeField(WireField[Size]):
    """A size: "32 x 40 in" or `{"width": …, "height": …}`. Dumps to the text."""

    shape: ClassVar[Shape] = {
        "oneOf": [
            {"type": "string", "maxLength": 40},
            {
                "type": "object",
                "properties": {"width": LengthField.shape, "height": LengthField.shape},
                "required": ["width", "height"],
                "additionalProperties": False,
            },
        ],
        "description": "width and height, width first: 32 x 40 in",
    }

    def read(self, value: Any) -> Size:
        """Return a size from its text or its two lengths."""
        if isinstance(value, dict):
            return Size(*_lengths(value, ("width", "height")))
        if type(value) is not str:
            raise refusal("bad_length", 'a size is written as "32 x 40 in" or as width and height')
        try:
            return read_size(value, DOCUMENT_UNIT.get())
        except BadLength as error:
            raise refusal(error.code, error.message) from error

    def _serialize(self, value: Size | None, attr: Any, obj: Any, **kwargs: Any) -> Any:
        if value is None:
            return None
        shown = AS_SHOWN.get()
        if shown is None:
            return size_text(value)
        return {"width": shown(value.width), "height": shown(value.height)}


class SidesField(WireField[Sides]):
    """One length for all sides, or `{"top": …, "right": …, "bottom": …, "left": …}`."""

    shape: ClassVar[Shape] = {
        "oneOf": [
            {"type": "string", "maxLength": 40},
            {"type": "number", "minimum": 0},
            {
                "type": "object",
                "properties": dict.fromkeys(("top", "right", "bottom", "left"), LengthField.shape),
                "required": ["top", "right", "bottom", "left"],
                "additionalProperties": False,
            },
        ],
        "description": "one length for all four sides, or top, right, bottom and left",
    }

    def read(self, value: Any) -> Sides:
        """Return the four sides."""
        if isinstance(value, dict):
            return Sides(*_lengths(value, ("top", "right", "bottom", "left")))
        return Sides.all(length_of(value))

    def _serialize(self, value: Sides | None, attr: Any, obj: Any, **kwargs: Any) -> Any:
        if value is None:
            return None
        if len({length.ticks for _, length in value.each()}) == 1:
            return length_text(value.top)
        return {name: length_text(length) for name, length in value.each()}


def exact_length(length: Mapping[str, str]) -> Length:
    """Return a length from its document, by the millimetres, which are always exact."""
    return Length.millimetres(Decimal(length["mm"]))
