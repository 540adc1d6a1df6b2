"""What is being spoken: the sentences, numbers, money and days of the shop's locale.

A printer's caller says for which shop it prints (`speaking`); what prints asks here. Without a
locale the papers are in English, with plain figures and ISO dates.

The catalogues are GNU gettext's .po files, read as they are: nothing is compiled, and what a
translator changes is seen at the next start.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

from babel import Locale
from babel.dates import format_date
from babel.messages.pofile import read_po
from babel.numbers import format_currency, format_decimal

from service.domain.value import dataclass

STORED = "ticket"
"""The context (msgctxt) of sentences that tickets keep."""
CATALOGUES = Path(__file__).parent / "catalogues"
_NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Language:
    """A locale of CLDR and the sentences of its language; without a locale all stays plain.

    `sentences` are those of the papers, `stored` those that tickets keep; each by the English one.
    """

    locale: Locale | None
    sentences: Mapping[str, str]
    stored: Mapping[str, str]

    @property
    def tag(self) -> str:
        """The tag of BCP 47."""
        return str(self.locale).replace("_", "-") if self.locale else "en"

    @property
    def decimal_mark(self) -> str:
        """The sign between a number's whole and its parts."""
        return str(self.locale.number_symbols["latn"]["decimal"]) if self.locale else "."

    @property
    def speaks(self) -> str:
        """The language of the sentences: English where the locale's has no catalogue."""
        return str(self.locale.language) if self.locale and self.sentences else "en"


PLAIN = Language(None, _NOTHING, _NOTHING)
_SPOKEN: ContextVar[Language] = ContextVar("language", default=PLAIN)


@contextmanager
def speaking(locale: str) -> Iterator[Language]:
    """Print in a locale, such as de-CH, as long as this lasts; "" is plain English."""
    token = _SPOKEN.set(language(locale))
    try:
        yield _SPOKEN.get()
    finally:
        _SPOKEN.reset(token)


@lru_cache(maxsize=64)
def language(locale: str) -> Language:
    """Return a locale's language; its sentences stay English if there is no catalogue for it."""
    if not locale:
        return PLAIN
    parsed = Locale.parse(locale, sep="-")
    return Language(parsed, *catalogue(parsed.language))


@lru_cache(maxsize=16)
def catalogue(language: str) -> tuple[Mapping[str, str], Mapping[str, str]]:
    """Return a language's sentences of the papers and those of tickets, by the English ones."""
    path = CATALOGUES / f"{language}.po"
    if not path.exists():
        return _NOTHING, _NOTHING
    with path.open("rb") as file:
        messages = [m for m in read_po(file) if m.id and m.string and not m.fuzzy]
    own = {str(m.id): str(m.string) for m in messages if m.context is None}
    return own, {str(m.id): str(m.string) for m in messages if m.context == STORED}


def spoken() -> Language:
    """Return the language that is being spoken."""
    return _SPOKEN.get()


def _(sentence: str, **values: object) -> str:
    """Return a sentence in the language being spoken, with values in its named places."""
    told = _SPOKEN.get().sentences.get(sentence, sentence)
    return told.format(**values) if values else told


def number(text: str) -> str:
    """Return a decimal number digit for digit, with the locale's separators; "≈" may precede it."""
    locale, exact = _SPOKEN.get().locale, text.removeprefix("≈")
    if locale is None:
        return text
    shown = str(format_decimal(Decimal(exact), locale=locale, decimal_quantization=False))
    return shown if exact == text else f"≈{shown}"


def money(currency: str, amount: str) -> str:
    """Return an amount of money as the locale writes it; without one USD 1234.50."""
    locale = _SPOKEN.get().locale
    if locale is None:
        return f"{currency} {amount}"
    return str(format_currency(Decimal(amount), currency, locale=locale))


def day(text: str) -> str:
    """Return a day, given as in ISO 8601, as the locale writes it in full."""
    locale = _SPOKEN.get().locale
    if locale is None or not text:
        return text
    return str(format_date(date.fromisoformat(text), "long", locale=locale))


def weekday(text: str) -> str:
    """Return a day, given as in ISO 8601, with its weekday; without a locale Thu 2026-12-03."""
    locale, on = _SPOKEN.get().locale, date.fromisoformat(text)
    if locale is None:
        return f"{_WEEK[on.weekday()]} {text}"
    return str(format_date(on, "full", locale=locale))


_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
