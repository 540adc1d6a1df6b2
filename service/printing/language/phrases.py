"""Stored sentences in the language being spoken: the steps, notes and cautions of a ticket.

A ticket keeps its sentences in English, as they were made and proved. They are a small language of
their own: a fixed sentence for each kind of work, with pieces, lengths and sides in its places. The
catalogues hold those sentences with named places, so that a ticket of any release is told in any
language; what stands in a place is told in the same way. A sentence that no catalogue has stays as
it is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from service.domain.value import dataclass
from service.printing.language.spoken import language, spoken

_COUNT, _LENGTH = r"\d+", r"≈?\d[\d/. ≈x]*?(?: (?:in|mm|cm))?"
_PLACES = {
    **dict.fromkeys(("n", "m", "count"), _COUNT),
    **dict.fromkeys(("a", "b", "c", "d", "length", "size"), _LENGTH),
    "each": r"(?:, \d+ of each)?",
    "piece": r"[^()]+?",
    "item": r"\S+",
    "angle": r"[\d.]+°",
}
"""What may stand in a place, by its name; anything else in any other."""
_PLACE = re.compile(r"\{(\w+)\}")
_LISTS = (re.compile("(: )"), re.compile(r"(?<=\))(, )"), re.compile("(; )"), re.compile("(, )"))
_FIGURE = re.compile(r"[≈\d./ x]+(?:°| mm| cm| kg)?")


@dataclass(frozen=True, slots=True)
class Phrase:
    """A sentence with places, as a pattern, and its translation."""

    pattern: re.Pattern[str]
    translation: str


def told(sentence: str) -> str:
    """Return a stored English sentence in the language being spoken."""
    now = spoken()
    return _told(sentence, now.tag) if now.stored else sentence


@lru_cache(maxsize=16)
def phrases(tag: str) -> tuple[Phrase, ...]:
    """Return the sentences with places of a language; the one with most fixed words first."""
    stored = language(tag).stored
    with_places = sorted(filter(_PLACE.search, stored), key=lambda each: -len(_fixed(each)))
    return tuple(Phrase(pattern_of(each), stored[each]) for each in with_places)


def _fixed(sentence: str) -> str:
    return _PLACE.sub("", sentence)


def pattern_of(sentence: str) -> re.Pattern[str]:
    """Return the pattern of a sentence with places."""
    parts = _PLACE.split(sentence)
    written = [
        f"(?P<{part}>{_PLACES.get(part, '.+?')})" if at % 2 else re.escape(part)
        for at, part in enumerate(parts)
    ]
    return re.compile("".join(written))


@lru_cache(maxsize=4_096)
def _told(text: str, tag: str) -> str:
    now = language(tag)
    if text in now.stored:
        return now.stored[text]
    for phrase in phrases(tag):
        if found := phrase.pattern.fullmatch(text):
            return phrase.translation.format(**_places(found.groupdict(), tag))
    for between in _LISTS:
        parts = between.split(text)
        if len(parts) > 1:
            return "".join(part if at % 2 else _told(part, tag) for at, part in enumerate(parts))
    return text.replace(".", now.decimal_mark) if _FIGURE.fullmatch(text) else text


def _places(values: Mapping[str, str], tag: str) -> dict[str, str]:
    return {name: _told(value, tag) if value else "" for name, value in values.items()}
