"""The request documents of the steps of a quote or of a ticket's piece."""

from __future__ import annotations

from typing import Any

from schemas.openapi.shapes import Shape, ref
from schemas.quotes.steps import ACCEPT, COLLECT, NOTHING, QUOTE_STEP, REPRICE, SHELVE, SPOIL
from schemas.wire.base import WireField
from schemas.wire.document import Document


def _sent(doc: str, document: Document, words: dict[str, str]) -> Shape:
    """Return the shape of a small request document, from its own fields."""
    properties: dict[str, Any] = {}
    for name, field in document.fields.items():
        if not isinstance(field, WireField):
            raise TypeError(f"{name} tells no shape of its own")
        properties[name] = {**field.json_shape(), "description": words[name]}
    required = [name for name, field in document.fields.items() if field.required]
    shape: Shape = {"type": "object", "description": doc, "properties": properties}
    if required:
        shape["required"] = required
    return {**shape, "additionalProperties": False}


SENT: dict[str, Shape] = {
    "Nothing": _sent("An empty document; the body may be left out.", NOTHING, {}),
    "Accept": _sent(
        "Which choice the customer accepts; the body may be left out if there is only one.",
        ACCEPT,
        {
            "revision": "The revision that the customer accepts.",
            "wanted_by": "The day by which it is wanted, in place of the document's own.",
        },
    ),
    "QuoteStep": _sent(
        "The reason; the body may be left out.", QUOTE_STEP, {"reason": "In the shop's own words."}
    ),
    "Spoil": _sent(
        "What happened.",
        SPOIL,
        {
            "reason": "In the bench's own words.",
            "quantity": "The number of pieces; all by default.",
        },
    ),
    "Shelve": _sent(
        "Where finished work is put.",
        SHELVE,
        {"shelf": "The place, as the shop calls it."},
    ),
    "Collect": _sent(
        "Who takes it along; the body may be left out.",
        COLLECT,
        {"by": "A name, if it is not the customer's own."},
    ),
    "Reprice": _sent("The same document at today's prices.", REPRICE, {"reprice": "Always true."}),
    "RevisionRequest": {
        "description": "A new document, or the same one at today's prices.",
        "oneOf": [ref("QuoteRequest"), ref("Reprice")],
    },
}
