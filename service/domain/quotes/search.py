"""What a stored quote is found by: its number, its reference, the customer's name, labels of jobs.

Any part of a word finds it, without case and accents; see `service.domain.customers`.
"""

from __future__ import annotations

from collections.abc import Iterable

from service.domain.customers import LEAST_LETTERS, folded, words_of
from service.domain.errors import BadValue, NotFound
from service.domain.quotes.numbers import QUOTES


def words_of_quote(number: str, reference: str, texts: Iterable[str]) -> str:
    """Return the words that a quote of this number and reference, with these texts, is found by.

    The reference is a word by itself too, without its hyphens and strokes.

    >>> words_of_quote("Q100014", "R-2", ["Ann", "Möwe"])
    'q100014 r2 r 2 ann mowe'
    """
    words = [folded(number), *_joined(reference), *words_of(" ".join((reference, *texts)))]
    return " ".join(dict.fromkeys(words))


def sought_in_quotes(text: str) -> tuple[str, ...]:
    """Return the parts of words that a search asks for: all of them must be found.

    A quote's number is read as it is written on paper, so "q1000 14" asks for Q100014. Single
    letters beside longer words are left out: nearly every quote has them. Single letters alone are
    a short reference: "R-2" asks for R2.

    Raises:
        BadValue: too short to search by.
    """
    if QUOTES.means(text):
        try:
            return (folded(QUOTES.number(QUOTES.read(text))),)
        except NotFound:  # a number that was misread, or another word that looks like one
            pass
    words = [word for word in words_of(text) if len(word) >= LEAST_LETTERS] or _joined(text)
    if not words or len(words[0]) < LEAST_LETTERS:
        raise BadValue(f"search by {LEAST_LETTERS} letters or digits at least", "/q")
    return tuple(words)


def _joined(text: str) -> list[str]:
    """Return a text as one word; none if it has neither letters nor digits."""
    word = "".join(words_of(text))
    return [word] if word else []
