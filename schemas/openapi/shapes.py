"""Builders for the shapes of answers, as JSON Schema (2020-12), and the shapes of figures.

Answers are built directly and not dumped through schemas, so their shapes are written by hand;
tests validate every answer against them with unknown fields forbidden. The published shapes allow
additional fields: v1 only grows, and a client must ignore fields it does not know.

A word that later releases may extend is not an `enum`: the words of this release are in
`x-known-values`, and a client should treat an unknown one as "something else".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any

Shape = dict[str, Any]
SIDES = ("top", "right", "bottom", "left")
NOTHING: Mapping[str, Shape] = MappingProxyType({})
INSTANT = {
    "type": "string",
    "format": "date-time",
    "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z$",
}
UNTIL: Shape = {
    "type": ["string", "null"],
    "format": "date-time",
    "description": "Where to go on: whatever changes after this answer has an `updated_at` of this "
    "instant or a later one. Of several pages, that of the first one counts. Null where nothing "
    "has changed yet.",
}


def ref(name: str, said: str = "") -> Shape:
    """Return a reference to a component, with its meaning here."""
    found: Shape = {"$ref": f"#/components/schemas/{name}"}
    return {**found, "description": said} if said else found


def or_null(name: str, said: str) -> Shape:
    """Return a reference to a component, or null."""
    return {"anyOf": [ref(name), {"type": "null"}], "description": said}


def text(said: str) -> Shape:
    """Return the shape of text for people, or a code."""
    return {"type": "string", "description": said}


def whole(said: str, least: int = 0) -> Shape:
    """Return the shape of an integer."""
    return {"type": "integer", "minimum": least, "description": said}


def truth(said: str) -> Shape:
    """Return the shape of a boolean."""
    return {"type": "boolean", "description": said}


def listed(items: Shape, said: str) -> Shape:
    """Return the shape of a list."""
    return {"type": "array", "items": items, "description": said}


def one_of(words: Iterable[str], said: str) -> Shape:
    """Return the shape of a closed set of words."""
    return {"type": "string", "enum": list(words), "description": said}


def growing(words: Iterable[str], said: str) -> Shape:
    """Return the shape of a set of words that later releases may extend."""
    return {"type": "string", "x-known-values": list(words), "description": said}


def thing(
    said: str, needed: Mapping[str, Shape], sometimes: Mapping[str, Shape] = NOTHING
) -> Shape:
    """Return the shape of an object: required fields, and optional fields."""
    return {
        "type": "object",
        "description": said,
        "properties": {**needed, **sometimes},
        "required": list(needed),
    }


def money(said: str) -> Shape:
    """Return the shape of an amount in the document's currency."""
    return ref("Money", said)


def number(said: str) -> Shape:
    """Return the shape of an exact number as text."""
    return ref("Number", said)


def length(said: str) -> Shape:
    """Return the shape of a length."""
    return ref("Length", said)


def _sides(said: str) -> Shape:
    return thing(said, {side: length(f"The {side} side.") for side in SIDES})


FIGURES: dict[str, Shape] = {
    "ExactNumber": {
        "type": "string",
        "pattern": r"^-?[0-9]+(\.[0-9]{1,15})?$",
        "description": "A number as it was set, exactly. Never a JSON number.",
        "examples": ["1.05"],
    },
}


NEXT: Shape = {
    "type": ["string", "null"],
    "description": "The cursor of the next page; null on the last one.",
}
