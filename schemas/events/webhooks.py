"""Webhooks on the wire: requests to create one, and how endpoints and messages are shown."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, ClassVar

from msgspec import Raw

from schemas.events.feed import Kind, WebhookBody
from schemas.events.records import Attempt, Endpoint, EndpointState, Message, MessageState
from schemas.wire.base import Shape, WireField
from schemas.wire.document import Document, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import InstantField, OneOf, Words, as_sets
from schemas.wire.figures import instant, maybe_instant
from schemas.wire.record import Record, at_least, doc, extended
from schemas.wire.values import Instant, Moment, Next, Uuid

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

    url = Words(
        shortest=1,
        longest=LONGEST_URL,
        required=True,
        means="The address to send to: an https address on the public internet.",
    )
    kinds = Several(
        KindField(), most=MOST_KINDS, means="The kinds of events to send. Default: all."
    )
    description = Words(longest=200, means="What it is for.")

    def make(self, values: dict[str, Any]) -> WantedEndpoint:
        """Return the requested endpoint."""
        return WantedEndpoint(**as_sets(values))


class WebhookChangeDocument(Document):
    """What changes of a webhook; what is left out stays as it is."""

    url = Words(shortest=1, longest=LONGEST_URL, means="The address to send to.")
    kinds = Several(
        KindField(), most=MOST_KINDS, means="The kinds of events to send; empty for all."
    )
    description = Words(longest=200, means="What it is for.")
    status = OneOf(
        ("active", "paused"),
        attribute="state",
        means="`paused` holds messages back, `active` sends them.",
    )

    def make(self, values: dict[str, Any]) -> dict[str, Any]:
        """Return the changes."""
        return as_sets(values)


class ReplayDocument(Document):
    """From when on failed messages are sent anew."""

    since = InstantField(
        required=True,
        means=("Failed messages that were queued at or after this instant are sent again."),
    )

    def make(self, values: dict[str, Any]) -> datetime:
        """Return the instant."""
        since: datetime = values["since"]
        return since


WEBHOOK_REQUEST = WebhookRequestDocument()
WEBHOOK_CHANGE = WebhookChangeDocument()
REPLAY = ReplayDocument()


class Webhook(Record):
    """A webhook, without its secret."""

    id: Annotated[Uuid, doc("The webhook's id.")]
    url: Annotated[str, doc("The address that messages are sent to.")]
    kinds: Annotated[tuple[str, ...], doc("The kinds of events that are sent; empty for all.")]
    description: Annotated[str, doc("What it is for.")]
    status: Annotated[
        EndpointState,
        doc(
            "`paused`: messages are held back until it is active again. `gone`: the receiver "
            "answered 410."
        ),
    ]
    created_at: Annotated[Instant, doc("When it was created; later events are sent.")]
    former_secret_until: Annotated[
        Moment | None, doc("Until when messages are also signed with the previous secret.")
    ]


class WebhookWithSecret(Webhook):
    """A webhook whose secret has just been made."""

    secret: Annotated[
        str,
        doc("The secret that messages are signed with (Standard Webhooks); shown only once."),
    ]


class WebhookList(Record):
    """All webhooks of a shop, oldest first."""

    items: Annotated[tuple[Webhook, ...], doc("The webhooks.")]
    next: Next


class WebhookMessage(Record):
    """A message in the log."""

    id: Annotated[Uuid, doc("The value of the header `webhook-id`.")]
    event: Annotated[str, doc("The number of the event.")]
    kind: Kind
    status: Annotated[MessageState, doc("The state of its delivery.")]
    attempts: Annotated[int, at_least(0, "Number of attempts so far.")]
    created_at: Annotated[Instant, doc("When it was queued.")]
    next_attempt_at: Annotated[
        Moment | None, doc("The time of the next attempt; null if there is none.")
    ]
    delivered_at: Annotated[
        Moment | None, doc("When the receiver accepted it; null if it has not.")
    ]


class WebhookMessageList(Record):
    """Messages, newest first."""

    items: Annotated[tuple[WebhookMessage, ...], doc("The messages.")]
    next: Next


class WebhookAttempt(Record):
    """One attempt to deliver a message."""

    number: Annotated[int, at_least(1, "Its number, from 1.")]
    at: Annotated[Instant, doc("When it ended.")]
    answer_status: Annotated[
        int | None, doc("The HTTP status of the answer; null if there was none.")
    ]
    error: Annotated[str, doc("What prevented an answer; empty if there was one.")]
    milliseconds: Annotated[int, at_least(0, "How long it took.")]


class WebhookMessageLog(WebhookMessage):
    """A message with its body and every attempt to deliver it."""

    body: Annotated[WebhookBody, doc("The body, byte for byte.")]
    log: Annotated[tuple[WebhookAttempt, ...], doc("Every attempt, in order.")]


class WebhookReplayed(Record):
    """The result of sending messages again."""

    messages: Annotated[int, at_least(0, "Number of messages that are sent again.")]


def webhook_document(endpoint: Endpoint) -> Webhook:
    """Return a webhook without its secret."""
    return Webhook(
        endpoint.id,
        endpoint.url,
        tuple(sorted(endpoint.kinds)),
        endpoint.description,
        endpoint.state,
        instant(endpoint.created_at),
        maybe_instant(endpoint.former_until),
    )


def message_document(message: Message) -> WebhookMessage:
    """Return a message as listed in the log."""
    return WebhookMessage(
        message.id,
        str(message.event_id),
        message.kind,
        message.state,
        message.attempts,
        instant(message.created_at),
        maybe_instant(message.due_at),
        maybe_instant(message.delivered_at),
    )


def message_log_document(message: Message, attempts: Iterable[Attempt]) -> WebhookMessageLog:
    """Return a message with its body, as it is sent, and all its attempts."""
    log = tuple(
        WebhookAttempt(each.number, instant(each.at), each.status, each.error, each.milliseconds)
        for each in attempts
    )
    body = Raw(message.body)
    return extended(message_document(message), WebhookMessageLog, body=body, log=log)


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedEndpoint:
    """The data of a new endpoint."""

    url: str
    kinds: frozenset[str] = frozenset()
    description: str = ""
