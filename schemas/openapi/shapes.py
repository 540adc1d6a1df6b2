"""Builders for JSON Schema (2020-12): of requests, and of answers dumped through their schemas.

The shapes of all other answers follow from their records (`schemas.openapi.components`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any

Shape = dict[str, Any]
NOTHING: Mapping[str, Shape] = MappingProxyType({})
INSTANT = {
    "type": "string",
    "format": "date-time",
    "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z$",
}
UNTIL: Shape = {
    "type": ["string", "null"],
    "format": "date-time",
    "description": "Where to continue: everything that changes after this answer has an "
    "`updated_at` at or after this instant. With several pages, use the one of the first page. "
    "Null if nothing has changed yet.",
}


def ref(name: str, doc: str = "") -> Shape:
    """Return a reference to a component, with its meaning here."""
    found: Shape = {"$ref": f"#/components/schemas/{name}"}
    return {**found, "description": doc} if doc else found


def or_null(name: str, doc: str) -> Shape:
    """Return a reference to a component, or null."""
    return {"anyOf": [ref(name), {"type": "null"}], "description": doc}


def text(doc: str) -> Shape:
    """Return the shape of text for people, or a code."""
    return {"type": "string", "description": doc}


def whole(doc: str, least: int = 0) -> Shape:
    """Return the shape of an integer."""
    return {"type": "integer", "minimum": least, "description": doc}


def truth(doc: str) -> Shape:
    """Return the shape of a boolean."""
    return {"type": "boolean", "description": doc}


def listed(items: Shape, doc: str) -> Shape:
    """Return the shape of a list."""
    return {"type": "array", "items": items, "description": doc}


def growing(words: Iterable[str], doc: str) -> Shape:
    """Return the shape of a set of words that later releases may extend."""
    return {"type": "string", "x-known-values": list(words), "description": doc}


def object_shape(
    doc: str, needed: Mapping[str, Shape], sometimes: Mapping[str, Shape] = NOTHING
) -> Shape:
    """Return the shape of an object: required fields, and optional fields."""
    return {
        "type": "object",
        "description": doc,
        "properties": {**needed, **sometimes},
        "required": list(needed),
    }


NEXT: Shape = {
    "type": ["string", "null"],
    "description": "The cursor of the next page; null on the last page.",
}
