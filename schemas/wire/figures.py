"""The format of figures in answers: lengths in three forms, money and quantities as decimal text.

Answers are records (`schemas.wire.record`), not dumped through the schemas that read requests.
"""

from __future__ import annotations

from datetime import UTC, datetime
from fractions import Fraction
from functools import lru_cache
from typing import Any

import orjson

from schemas.wire import values
from schemas.wire.record import Record, encode
from service.domain.measure.length import Length, Size
from service.domain.measure.rounding import decimal_text
from service.domain.measure.ruler import Ruler, length_texts

QUANTITY_PLACES = 6
RATE_PLACES = 12
"""A marked-up rate is a cost times a factor, with six decimals each."""
MOST_LENGTHS, MOST_RULERS = 4_096, 4
Json = dict[str, object]
_TEXTS: dict[tuple[str, int], dict[int, values.Length]] = {}
"""Formatted lengths, by ruler: its unit and its step."""


class Figures:
    """Formats figures for one shop's ruler."""

    __slots__ = ("_ruler", "_texts")

    def __init__(self, ruler: Ruler) -> None:
        self._ruler = ruler
        if len(_TEXTS) >= MOST_RULERS and (ruler.unit, ruler.step.ticks) not in _TEXTS:
            _TEXTS.clear()
        self._texts = _TEXTS.setdefault((ruler.unit, ruler.step.ticks), {})

    def length(self, length: Length) -> values.Length:
        """Return a length: exact inches and millimetres, and the mark on the shop's ruler.

        It is cached and shared, as lengths recur.
        """
        texts = self._texts.get(length.ticks)
        if texts is None:
            if len(self._texts) >= MOST_LENGTHS:
                self._texts.clear()
            texts = self._texts[length.ticks] = values.Length(
                *length_texts(length.ticks, self._ruler)
            )
        return texts

    def size(self, size: Size) -> values.Size:
        """Return a width and a height."""
        return values.Size(self.length(size.width), self.length(size.height))

    def maybe_size(self, size: Size | None) -> values.Size | None:
        """Return a size, or None."""
        return None if size is None else self.size(size)


def number(value: Fraction) -> str:
    """Return a quantity or rate as text: exact if it ends within six decimals, else half up."""
    return ratio(*value.as_integer_ratio())


def rate_text(rate: Fraction) -> str:
    """Return the rate of a line, with all decimals that a markup can give it."""
    return ratio(*rate.as_integer_ratio(), RATE_PLACES)


@lru_cache(maxsize=4_096)
def ratio(numerator: int, denominator: int, places: int = QUANTITY_PLACES) -> str:
    """Return a quantity given as a ratio, as text."""
    return decimal_text(numerator, denominator, places)


def maybe_instant(at: datetime | None) -> str | None:
    """Return an instant, or None."""
    return None if at is None else instant(at)


def spliced(head: Record | Json, stored: bytes) -> bytes:
    """Return one document: a head, then the unchanged bytes of a stored document."""
    return written(head)[:-1] + b"," + stored[1:]


def written(document: object) -> bytes:
    """Return a document as JSON: a record, or dictionaries and lists that may contain records."""
    if isinstance(document, Record):
        return encode(document)
    return orjson.dumps(document, default=_record)


def plain(document: object) -> Any:
    """Return a document as a caller reads it: dictionaries, lists and text."""
    return orjson.loads(written(document))


def _record(part: object) -> orjson.Fragment:
    if isinstance(part, Record):
        return orjson.Fragment(encode(part))
    raise TypeError(f"{type(part).__name__} is not written as JSON")


def instant(at: datetime) -> str:
    """Return an instant as RFC 3339 in UTC, to the microsecond."""
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
