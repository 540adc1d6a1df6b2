"""The shapes of a quote's life cycle: its steps, revisions, changes in words, and the promise."""

from __future__ import annotations

from typing import Any

from schemas.openapi.answers.tickets import DAY_OR_NULL
from schemas.openapi.shapes import (
    Shape,
    growing,
    listed,
    money,
    number,
    ref,
    text,
    thing,
    truth,
    whole,
)
from schemas.quotes.steps import ACCEPT, NOTHING, QUOTE_STEP, REPRICE, SPOIL
from schemas.wire.base import WireField
from schemas.wire.document import Document
from service.domain.quotes.life import STATUSES

INSTANT = {"type": "string", "format": "date-time"}


def _sent(said: str, document: Document, words: dict[str, str]) -> Shape:
    """Return the shape of a small request document, from its own fields."""
    properties: dict[str, Any] = {}
    for name, field in document.fields.items():
        if not isinstance(field, WireField):
            raise TypeError(f"{name} tells no shape of its own")
        properties[name] = {**field.json_shape(), "description": words[name]}
    required = [name for name, field in document.fields.items() if field.required]
    shape: Shape = {"type": "object", "description": said, "properties": properties}
    if required:
        shape["required"] = required
    return {**shape, "additionalProperties": False}


SENT: dict[str, Shape] = {
    "Nothing": _sent("Nothing more is to be said; the body may be left out.", NOTHING, {}),
    "Accept": _sent(
        "Which of several choices is taken; the body may be left out where there is one.",
        ACCEPT,
        {"revision": "The revision that the customer takes."},
    ),
    "QuoteStep": _sent(
        "Why; the body may be left out.", QUOTE_STEP, {"reason": "In the shop's own words."}
    ),
    "Spoil": _sent(
        "What happened.",
        SPOIL,
        {"reason": "In the bench's own words.", "quantity": "How many of them; all by default."},
    ),
    "Reprice": _sent(
        "The document as it stands, at today's prices.", REPRICE, {"reprice": "Say true."}
    ),
    "RevisionRequest": {
        "description": "A new document, or the same one at today's prices.",
        "oneOf": [ref("QuoteRequest"), ref("Reprice")],
    },
}
LIFE: dict[str, Shape] = {
    **SENT,
    "QuoteTicket": thing(
        "A ticket of a quote.",
        {
            "id": {"type": "string", "format": "uuid", "description": "Its identifier."},
            "number": text("Its number."),
            "job": whole("Which of the quote's jobs, from 1.", 1),
        },
    ),
    "RevisionRow": thing(
        "A revision as a list shows it.",
        {
            "revision": whole("Its number.", 1),
            "choice": {
                "type": ["string", "null"],
                "description": "What it is called beside the others; null for one that took the "
                "place of those before it, and for the first.",
            },
            "created_at": {**INSTANT, "description": "When it was worked out."},
            "price_list": text("The price list that was in force."),
            "currency": text("The currency of its amounts (ISO 4217)."),
            "total": money("What the customer was told."),
        },
    ),
    "RevisionList": thing(
        "Every revision of a quote, the first one first.",
        {
            "number": text("The quote's number."),
            "items": listed(ref("RevisionRow"), "All of them."),
        },
    ),
    "Change": thing(
        "One thing that changed.",
        {
            "path": text("Where in the answer: a JSON pointer (RFC 6901)."),
            "text": text("What changed, in words."),
        },
    ),
    "Changes": thing(
        "What changed from one revision to the next.",
        {
            "number": text("The quote's number."),
            "from": whole("The revision before.", 1),
            "to": whole("The revision asked for.", 1),
            "changes": listed(ref("Change"), "One sentence each; none where all is the same."),
        },
    ),
    "Promise": thing(
        "When a quote will be ready, and what that follows from: the minutes of every ticket that "
        "is not done and its own, laid on the bench's working days.",
        {
            "number": text("The quote's number."),
            "status": growing(STATUSES, "Its state."),
            "given": truth("Whether the day was promised on accepting it and stays so."),
            "day": {
                **DAY_OR_NULL,
                "description": "The day; null where the quote is over, or ten years would not do.",
            },
            "minutes": number("Its own minutes."),
            "open_minutes": number("Those of every ticket that is not done."),
            "lead_days": whole("Days that go by before work can begin, a shop setting."),
        },
    ),
}
