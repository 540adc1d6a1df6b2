"""Webhooks on the wire: requests to create one, and how endpoints and messages are shown."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

import orjson

from schemas.events.records import Attempt, Endpoint, Message
from schemas.wire.base import Shape, WireField
from schemas.wire.document import Document, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import InstantField, OneOf, Words, as_sets
from schemas.wire.figures import Json, instant, maybe_instant

LONGEST_URL = 500
MOST_KINDS = 50
_KIND = r"[a-z][a-z_]*(\.[a-z][a-z_]*)+"


class KindField(WireField[str]):
    """A kind of event."""

    shape: ClassVar[Shape] = {"type": "string", "pattern": f"^{_KIND}$", "maxLength": 60}

    def read(self, value: Any) -> str:
        """Return the kind."""
        if isinstance(value, str) and len(value) <= 60 and re.fullmatch(_KIND, value, re.ASCII):
            return value
        raise refusal("bad_value", "a kind of event is a dotted word, such as quote.created")


class WebhookRequestDocument(Document):
    """A webhook to be kept."""

    url = Words(shortest=1, longest=LONGEST_URL, required=True)
    kinds = Several(KindField(), most=MOST_KINDS)
    description = Words(longest=200)

    def make(self, values: dict[str, Any]) -> WantedEndpoint:
        """Return the requested endpoint."""
        return WantedEndpoint(**as_sets(values))


class WebhookChangeDocument(Document):
    """What changes of a webhook; what is left out stays as it is."""

    url = Words(shortest=1, longest=LONGEST_URL)
    kinds = Several(KindField(), most=MOST_KINDS)
    description = Words(longest=200)
    status = OneOf(("active", "paused"), attribute="state")

    def make(self, values: dict[str, Any]) -> dict[str, Any]:
        """Return the changes."""
        return as_sets(values)


class ReplayDocument(Document):
    """From when on failed messages are sent anew."""

    since = InstantField(required=True)

    def make(self, values: dict[str, Any]) -> datetime:
        """Return the instant."""
        since: datetime = values["since"]
        return since


WEBHOOK_REQUEST = WebhookRequestDocument()
WEBHOOK_CHANGE = WebhookChangeDocument()
REPLAY = ReplayDocument()


def webhook_document(endpoint: Endpoint) -> Json:
    """Return a webhook without its secret."""
    return {
        "id": endpoint.id,
        "url": endpoint.url,
        "kinds": sorted(endpoint.kinds),
        "description": endpoint.description,
        "status": endpoint.state,
        "created_at": instant(endpoint.created_at),
        "former_secret_until": maybe_instant(endpoint.former_until),
    }


def message_document(message: Message) -> Json:
    """Return a message as listed in the log."""
    return {
        "id": message.id,
        "event": str(message.event_id),
        "kind": message.kind,
        "status": message.state,
        "attempts": message.attempts,
        "created_at": instant(message.created_at),
        "next_attempt_at": maybe_instant(message.due_at),
        "delivered_at": maybe_instant(message.delivered_at),
    }


def message_log_document(message: Message, attempts: Iterable[Attempt]) -> Json:
    """Return a message with its body and all its attempts."""
    log = [
        {
            "number": attempt.number,
            "at": instant(attempt.at),
            "answer_status": attempt.status,
            "error": attempt.error,
            "milliseconds": attempt.milliseconds,
        }
        for attempt in attempts
    ]
    body: Any = orjson.Fragment(message.body)
    return {**message_document(message), "body": body, "log": log}


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedEndpoint:
    """The data of a new endpoint."""

    url: str
    kinds: frozenset[str] = frozenset()
    description: str = ""
