"""Parses lengths as people write them: "16 3/8 in", 16⅜″, 41.6 cm, 1 ft 4 3/8 in, 16.375, 3/8.

The grammar is our own and deliberately small: ASCII digits, the Unicode fractions and primes that
people paste, no exponents, at most `LONGEST_TEXT` characters. A general units parser silently reads
"8 1/2 in" as 4 in, and `Fraction("1e10000000")` takes seconds, so neither is given a customer's
text. Parsed texts are cached.

>>> read_length("16 3/8", "in") == read_length("415.925 mm", "in")
True
>>> read_length("1 ft 4⅜″", "mm").in_inches()
Fraction(131, 8)
>>> read_size("16 x 20 in", "mm").height.in_inches()
Fraction(20, 1)
>>> read_length("1/3", "in")
Traceback (most recent call last):
    ...
service.domain.errors.BadLength: "1/3" falls between the marks of a ruler; the nearest is 21/64 in
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from service.domain.errors import BadLength
from service.domain.measure.length import LONGEST, TICKS_PER_64TH, Length, Size
from service.domain.measure.rounding import half_up
from service.domain.measure.units import TICKS_PER_UNIT

LONGEST_TEXT = 40

_UNIT_WORDS = {
    **dict.fromkeys(("in", "in.", "inch", "inches", '"'), "in"),
    **dict.fromkeys(("ft", "ft.", "foot", "feet", "'"), "ft"),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
}
_PRIMES = str.maketrans(
    {
        "″": '"',
        "”": '"',
        "“": '"',
        "〃": '"',
        "′": "'",
        "’": "'",
        "‘": "'",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "⁄": "/",
        "–": "-",
    }
)
_VULGAR = re.compile("[¼-¾⅐-⅞]")
_MIXED = r"(?:(?P<whole>[0-9]{1,7})(?: +|- ?))?(?P<over>[0-9]{1,4})/(?P<under>[0-9]{1,4})"
_DECIMAL = r"(?P<units>[0-9]{1,7})(?:\.(?P<decimals>[0-9]{1,9}))?"
_TERM = re.compile(rf"\s*(?:{_MIXED}|{_DECIMAL})\s*(?P<unit>[a-zA-Z]+\.?|\"|''|')?\s*")
_FEET = re.compile(
    r"^\s*(?P<feet>[0-9]{1,5})\s*(?:ft\.?|foot|feet|'(?!'))(?:\s*-?\s*(?P<rest>[^\s-].*))?$",
    re.IGNORECASE,
)
_TIMES = re.compile(r"\s*(?:[x×X*]|\bby\b)\s*")


def _plain(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise BadLength(f"a length is at most {LONGEST_TEXT} characters; this one has {len(text)}")
    spelled = _VULGAR.sub(lambda found: " " + unicodedata.normalize("NFKC", found[0]), text)
    return spelled.translate(_PRIMES).strip()


def _value(term: re.Match[str], text: str) -> Fraction:
    if term["over"] is None:
        value = Fraction(int(term["units"]))
        if term["decimals"]:
            value += Fraction(int(term["decimals"]), 10 ** len(term["decimals"]))
        return value
    over, under = int(term["over"]), int(term["under"])
    if not under:
        raise BadLength(f'"{text}" divides by zero')
    if over >= under and term["whole"]:
        raise BadLength(f'"{text}" has a fraction that is not below one; write it out')
    if over >= under and len(term["over"]) > 1:
        # 163/8 parses as 20 3/8, but may be 16 3/8 with the space missing.
        raise BadLength(f'"{text}" could be read in two ways; write it with a space, as in 16 3/8')
    return int(term["whole"] or 0) + Fraction(over, under)


def _unreadable(text: str) -> BadLength:
    if re.match(r"^\s*[-−]\s*[0-9]", text):
        return BadLength(f'"{text}" is negative; a length is not')
    if re.search(r"[0-9],[0-9]", text):
        return BadLength(f'"{text}" has a comma; write the decimals after a point, as in 41.6 cm')
    return BadLength(
        f'"{text}" is not a length; write it as 16 3/8 in, 16 3/8", 415.9 mm, 41.6 cm '
        "or 1 ft 4 3/8 in"
    )


def _unit_of(word: str | None, unless: str, text: str) -> str:
    if not word:
        return unless
    unit = _UNIT_WORDS.get('"' if word == "''" else word.lower())
    if unit is None:
        raise BadLength(
            f'"{text}" is in "{word}", which is not a unit used here; use in, ft, mm, cm or m'
        )
    return unit


def _between_marks(text: str, ticks: Fraction) -> str:
    """Return why a length that no ruler has is refused, with the nearest one that it could be."""
    marks = half_up(ticks.numerator, ticks.denominator * TICKS_PER_64TH)
    if not marks:
        return f'"{text}" is finer than anything that can be cut'
    whole, part = divmod(marks, 64)
    fraction = str(Fraction(part, 64)) if part else ""
    near = f"{whole or ''} {fraction}".strip()
    return f'"{text}" falls between the marks of a ruler; the nearest is {near} in'


def _on_grid(ticks: Fraction, text: str) -> Length:
    if ticks.denominator != 1:
        raise BadLength(_between_marks(text, ticks))
    if ticks > LONGEST:
        raise BadLength(f'"{text}" is longer than 200 ft; check the unit')
    return Length(ticks.numerator)


@lru_cache(maxsize=4_096)
def read_length(text: str, unit: str) -> Length:
    """Return the length in `text`; a bare number or fraction is in `unit` ("in", "mm" or "cm").

    Raises:
        BadLength: not a length, finer than 1/16 µm, longer than 200 ft, or negative.
    """
    plain = _plain(text)
    feet, inches = Fraction(0), plain
    if found := _FEET.match(plain):
        feet, rest = Fraction(int(found["feet"])), found["rest"]
        if rest is None:
            return _on_grid(feet * TICKS_PER_UNIT["ft"], text)
        unit, inches = "in", rest
    term = _TERM.fullmatch(inches)
    if term is None:
        raise _unreadable(text)
    value = _value(term, text)
    word = _unit_of(term["unit"], unit, text)
    if found and word != "in":
        raise _unreadable(text)
    return _on_grid(feet * TICKS_PER_UNIT["ft"] + value * TICKS_PER_UNIT[word], text)


@lru_cache(maxsize=1_024)
def read_number(number: int | Decimal, unit: str) -> Length:
    """Return the length of a bare JSON number, read as a decimal and taken in `unit`.

    Raises:
        BadLength: not finite, finer than 1/16 µm, longer than 200 ft, or negative.
    """
    if isinstance(number, Decimal) and (
        not number.is_finite() or number.adjusted() > 9 or len(number.as_tuple().digits) > 20
    ):
        raise BadLength("a length is a plain number of at most 200 ft")
    if number < 0:
        raise BadLength(f'"{number}" is negative; a length is not')
    if number > LONGEST:
        raise BadLength("a length is a plain number of at most 200 ft")
    if isinstance(number, Decimal) and number and number.adjusted() < -9:
        raise BadLength(f'"{number}" is finer than anything that can be cut; give fewer decimals')
    return _on_grid(Fraction(number) * TICKS_PER_UNIT[unit], str(number))


@lru_cache(maxsize=1_024)
def read_size(text: str, unit: str) -> Size:
    """Return a width and a height written together: "16 x 20 in", 40×50 cm, 16" x 20".

    A unit after the second length only applies to both.

    Raises:
        BadLength: not two lengths with an x between.
    """
    parts = _TIMES.split(_plain(text))
    if len(parts) != 2:
        raise BadLength(f'"{text}" is not a size; write width x height, as in 16 x 20 in')
    last = _TERM.fullmatch(parts[1])
    shared = _unit_of(last["unit"], unit, text) if last else unit
    return Size(read_length(parts[0], shared), read_length(parts[1], shared))
