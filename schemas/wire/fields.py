"""Fields of the wire contract: lengths, sizes, exact numbers, codes, instants, strict values."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar

from schemas.wire.base import Shape, WireField
from schemas.wire.faults import refusal
from schemas.wire.lengths import LengthField, SidesField, SizeField
from service.domain.errors import BadMoney, BadValue
from service.domain.measure.money import Currency, exact_number
from service.domain.measure.rounding import decimal_text
from service.domain.text import hidden_in


class Words(WireField[str]):
    """Text for people, trimmed; on one line unless `lines`."""

    def __init__(
        self, *, longest: int = 200, shortest: int = 0, lines: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.shortest, self.longest, self.lines = shortest, longest, lines

    def json_shape(self) -> dict[str, object]:
        """Return the shape of a string of limited length."""
        return {"type": "string", "minLength": self.shortest, "maxLength": self.longest}

    def read(self, value: Any) -> str:
        """Return a text in which every character is visible (`service.domain.text`)."""
        if type(value) is not str:
            raise refusal("bad_text", "this is text, in quotation marks")
        text = value.strip()
        if not self.shortest <= len(text) <= self.longest:
            raise refusal("bad_text", f"this has {self.shortest} to {self.longest} characters")
        found = hidden_in(text, lines=self.lines)
        if found is not None and not KEPT_TEXT.get():
            raise refusal("bad_text", f"{found.told}; delete it, or type the text again")
        return text


class Code(Words):
    """A shop's own code for something: 1 to 40 printable characters, trimmed."""

    def __init__(self, *, shortest: int = 1, **kwargs: Any) -> None:
        super().__init__(longest=40, shortest=shortest, **kwargs)


class DateField(WireField[date]):
    """A date as YYYY-MM-DD."""

    shape: ClassVar[Shape] = {"type": "string", "format": "date"}

    def read(self, value: Any) -> date:
        """Return a valid date."""
        if type(value) is str and _DATE.fullmatch(value):
            try:
                return date.fromisoformat(value)
            except ValueError as error:
                raise refusal("bad_date", f"{value} is not in the calendar") from error
        raise refusal("bad_date", "a day is written as 2026-10-01")

    def _serialize(self, value: date | None, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else value.isoformat()


class ExactNumber(WireField[Fraction]):
    """A decimal number, as text or as a JSON number. Loads to `Fraction`; dumps to text."""

    def __init__(self, *, least: int | None = None, most: int | None = None, **kw: Any) -> None:
        super().__init__(**kw)
        self.least, self.most = least, most

    def json_shape(self) -> dict[str, object]:
        """Return a text or number; bounds are described, since JSON Schema cannot compare text."""
        text = {"type": "string", "pattern": f"^{_NUMBER.pattern}$"}
        told = "an exact number of at most six decimals" + _between(self.least, self.most)
        return {"oneOf": [text, {"type": "number"}], "description": told}

    def read(self, value: Any) -> Fraction:
        """Return an exact number."""
        if type(value) is str:
            plain = value.strip()
            if len(value) > 40 or not _NUMBER.fullmatch(plain):
                raise refusal("bad_number", f'"{value[:40]}" is not a number; write it as 184.50')
            number = exact_number(plain)
        else:
            number = _json_number(value)
        if (number * 10**MOST_DECIMALS).denominator != 1:
            raise refusal("bad_number", "a number has at most six decimals here")
        _in_bounds(number, self.least, self.most)
        return number

    def _serialize(self, value: Fraction | None, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else number_text(value)


class OneOf(WireField[str]):
    """One of a fixed set of words."""

    def __init__(self, choices: Sequence[str], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.choices = tuple(choices)

    def json_shape(self) -> dict[str, object]:
        """Return an enumeration."""
        return {"type": "string", "enum": list(self.choices)}

    def read(self, value: Any) -> str:
        """Return a word from the list."""
        if type(value) is str and value in self.choices:
            return value
        given = f'"{value[:40]}"' if type(value) is str else "this"
        raise refusal("bad_choice", f"{given} is not one of {', '.join(self.choices)}")


class OwnCode(Code):
    """The code of a resource with its own URL, which contains the code."""

    def read(self, value: Any) -> str:
        """Return a code that can be part of a URL."""
        code = super().read(value)
        if "/" in code or "\\" in code or code in (".", ".."):
            raise refusal("bad_text", "a code has no slash in it, since it stands in an address")
        return code


class StrictBoolean(WireField[bool]):
    """true or false; "yes", 1 and "true" are refused rather than interpreted."""

    shape: ClassVar[Shape] = {"type": "boolean"}

    def read(self, value: Any) -> bool:
        """Return a boolean."""
        if value is True or value is False:
            return bool(value)
        raise refusal("bad_value", "this is true or false, without quotation marks")


class StrictInteger(WireField[int]):
    """An integer; 3.0 is accepted as 3, 3.9 and "3" are refused."""

    def __init__(self, *, least: int = 0, most: int = 1_000_000, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least, self.most = least, most

    def json_shape(self) -> dict[str, object]:
        """Return the shape of an integer between the bounds."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}

    def read(self, value: Any) -> int:
        """Return an integer."""
        if type(value) is int and self.least <= value <= self.most:
            return value
        if type(value) is Decimal and value.is_finite() and abs(value.adjusted()) < 16:
            value = int(value) if value == value.to_integral_value() else value
        if type(value) is not int or not self.least <= value <= self.most:
            raise refusal("bad_number", "this is a whole number" + _between(self.least, self.most))
        return value


__all__ = [
    "Code",
    "DateField",
    "ExactNumber",
    "LengthField",
    "OneOf",
    "OwnCode",
    "SidesField",
    "SizeField",
    "StrictBoolean",
    "StrictInteger",
    "WireField",
    "Words",
]

_NUMBER = re.compile(r"-?[0-9]{1,15}(\.[0-9]{1,15})?")
LARGEST = 10**15
MOST_DECIMALS = 6
"""The decimals shown of a quantity; with more, a line could not be checked by hand."""
KEPT_TEXT: ContextVar[bool] = ContextVar("kept_text", default=False)
"""Set while a stored document is read: text that was allowed when stored stays readable."""
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@contextmanager
def kept_text() -> Iterator[None]:
    """Read documents without checking their text again, as they were stored."""
    token = KEPT_TEXT.set(True)
    try:
        yield
    finally:
        KEPT_TEXT.reset(token)


def number_text(number: Fraction) -> str:
    """Return an exact number as decimal text.

    Raises:
        BadValue: the number has no terminating decimal, so no text could be exact.
    """
    text = decimal_text(number.numerator, number.denominator, 15)
    if Fraction(text) != number:
        raise BadValue(f"{number} does not end in decimals and cannot be written exactly")
    return text


def _json_number(value: object) -> Fraction:
    # A signalling NaN cannot be compared, and a huge integer cannot be converted to text.
    if (isinstance(value, Decimal) and value.is_finite()) or type(value) is int:
        if not -LARGEST < value < LARGEST:
            raise refusal("bad_number", "this is not a number of reasonable size")
        try:
            return exact_number(value)
        except BadMoney as error:
            raise refusal("bad_number", error.message) from error
    raise refusal("bad_number", 'a number is written as "184.50" or 184.50')


def _between(least: int | None, most: int | None) -> str:
    if least is None:
        return "" if most is None else f", at most {most}"
    return f", at least {least}" if most is None else f", {least} to {most}"


def _in_bounds(number: Fraction, least: int | None, most: int | None) -> None:
    if (least is not None and number < least) or (most is not None and number > most):
        raise refusal("bad_number", "this is a number" + _between(least, most))


_INSTANT = re.compile(
    r"\d{4}-\d{2}-\d{2}[Tt]\d{2}:\d{2}:\d{2}(\.\d{1,6})?([Zz]|[+-]\d{2}:\d{2})", re.ASCII
)


class InstantField(WireField[datetime]):
    """An instant with its offset, in RFC 3339 format."""

    shape: ClassVar[Shape] = {"type": "string", "format": "date-time"}

    def read(self, value: Any) -> datetime:
        """Return the instant, in UTC."""
        try:
            if isinstance(value, str) and _INSTANT.fullmatch(value):
                return datetime.fromisoformat(value.upper()).astimezone(UTC)
        except (ValueError, OverflowError):
            pass
        raise refusal("bad_value", "write an instant as 2026-11-25T18:00:00Z")


def as_sets(values: dict[str, Any]) -> dict[str, Any]:
    """Return the loaded fields, with unordered lists as sets."""
    lists = ("scopes", "origins", "kinds")
    return {name: frozenset(v) if name in lists else v for name, v in values.items()}


class CurrencyField(WireField[Currency]):
    """A currency by its ISO 4217 code."""

    def json_shape(self) -> dict[str, object]:
        """Return a pattern of three capital letters."""
        return {"type": "string", "pattern": "^[A-Z]{3}$"}

    def read(self, value: Any) -> Currency:
        """Return a supported currency."""
        return currency_of(value)

    def _serialize(self, value: Currency | None, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else value.code


def currency_of(value: object) -> Currency:
    """Return the currency that a text names.

    Raises:
        ValidationError: the currency is not supported.
    """
    if type(value) is not str or len(value) != 3:
        raise refusal("bad_currency", "a currency is three letters, as in USD")
    try:
        return Currency(value)
    except BadMoney as error:
        raise refusal("bad_currency", error.message) from error
