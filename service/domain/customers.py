"""A shop's customers: who they are, what they are charged, and how they are found.

A customer is found by any part of a word of the name or company, of the mail address, or of the
telephone number. Case and accents do not count: `folded` text is compared.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Literal, get_args

from service.domain.errors import BadValue
from service.domain.value import dataclass

AddressUse = Literal["home", "billing", "delivery"]
ADDRESS_USES: tuple[str, ...] = get_args(AddressUse)
LONGEST_PART = 24
"""Parts of words are found by so many letters; longer ones by their first."""
LEAST_LETTERS = 2
"""A search by fewer letters would find nearly everybody."""
_LETTERS = str.maketrans(
    {"æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)
"""Letters that have no decomposition in Unicode, as English telephone books write them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """A postal address, in the lines in which it is written on an envelope."""

    lines: tuple[str, ...]
    use: AddressUse = "home"
    postcode: str = ""
    country: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exemption:
    """Why a customer pays no tax: the certificate's reference, and its last day, if it has one."""

    certificate: str
    last_day: date | None = None

    def holds(self, day: date) -> bool:
        """Return True if the certificate is in force on a day; its last day counts whole."""
        return self.last_day is None or day <= self.last_day


@dataclass(frozen=True, slots=True, kw_only=True)
class Customer:
    """A customer of the shop.

    Attributes:
        name: as it is written on quotes.
        company: the firm, school or gallery, if any.
        addresses: postal addresses.
        email: the mail address.
        telephone: the number with its country code (E.164), or as it was given.
        level: the code of the shop's price level; empty for the usual prices.
        exemption: why no tax is charged, if so.
        note: for the shop alone; it is on no paper.

    Raises:
        BadValue: it has neither a name nor a company.
    """

    name: str = ""
    company: str = ""
    addresses: tuple[Address, ...] = ()
    email: str = ""
    telephone: str = ""
    level: str = ""
    exemption: Exemption | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if not self.name and not self.company:
            raise BadValue("a customer has a name, or a company", "/name")

    @property
    def shown(self) -> str:
        """The name on quotes: the person's, or else the company's."""
        return self.name or self.company

    def words(self) -> Iterator[str]:
        """Yield what the customer is found by, folded."""
        yield from words_of(f"{self.name} {self.company}")
        if self.email:
            yield folded(self.email)
        digits = digits_of(self.telephone)
        if digits:
            yield digits


def folded(text: str) -> str:
    """Return text without case and accents.

    >>> folded("Łukasz Müller-Straße"), folded("SØREN")
    ('lukasz muller-strasse', 'soren')
    """
    plain = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return kept.translate(_LETTERS)


def words_of(text: str) -> list[str]:
    """Return the folded words of a text: runs of letters and digits.

    >>> words_of("Mrs. O'Brien-Núñez")
    ['mrs', 'o', 'brien', 'nunez']
    """
    kept = (letter if letter.isalnum() else " " for letter in folded(text))
    return "".join(kept).split()


def digits_of(text: str) -> str:
    """Return the digits of a telephone number."""
    return "".join(letter for letter in folded(text) if letter.isdecimal())


def parts_of(words: Iterable[str]) -> set[str]:
    """Return every end of the words: a part of a word is the beginning of one of them.

    >>> sorted(parts_of(["anna"]))
    ['anna', 'na', 'nna']
    """
    return {
        word[start : start + LONGEST_PART]
        for word in words
        for start in range(max(1, len(word) - LEAST_LETTERS + 1))
    }


def sought(text: str) -> tuple[str, ...]:
    """Return the parts that a search asks for: all of them must be found.

    A telephone number may be typed with spaces, brackets and hyphens; its national zero is left
    out, since numbers are kept with their country code.

    Raises:
        BadValue: too short to search by.
    """
    plain, digits = folded(text).strip(), digits_of(text)
    if digits and not any(letter.isalpha() or letter == "@" for letter in plain):
        words = [digits.lstrip("0") or digits]
    elif "@" in plain:
        words = plain.split()
    else:
        words = words_of(text)
    if not words or max(map(len, words)) < LEAST_LETTERS:
        raise BadValue(f"search by {LEAST_LETTERS} letters or digits at least", "/q")
    return tuple(word[:LONGEST_PART] for word in words)
