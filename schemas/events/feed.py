"""Events as documents: full for the change feed, reduced for webhooks."""

from __future__ import annotations

from typing import Any, cast

from msgspec import Raw

from schemas.events.records import StoredEvent
from schemas.wire.figures import instant
from schemas.wire.record import UNSET, Annotated, Record, Unset, doc, encode
from schemas.wire.values import Instant

Kind = Annotated[str, doc("What happened: a dotted word, such as quote.created.")]
Subject = Annotated[str, doc("The type of the record that changed, such as quote.")]
SubjectId = Annotated[str, doc("The id of that record.")]
Facts = dict[str, Any] | None


class Event(Record):
    """A change."""

    id: Annotated[str, doc("The event's number, as text; not its place in the feed.")]
    at: Annotated[Instant, doc("When it happened.")]
    kind: Annotated[
        str,
        doc("What happened: a dotted word, such as quote.created. Later releases may add kinds."),
    ]
    subject: Subject
    subject_id: SubjectId
    key: Annotated[
        str, doc("The id of the key that made the change; `system` for a command of the service.")
    ]
    before: (
        Annotated[
            Facts,
            doc("For keys with the scope `admin`: the record before; null if it did not exist."),
        ]
        | Unset
    ) = UNSET
    after: (
        Annotated[
            Facts,
            doc("For keys with the scope `admin`: the record now; null if it was deleted."),
        ]
        | Unset
    ) = UNSET


class EventList(Record):
    """Events in the order of the feed, oldest first."""

    items: Annotated[tuple[Event, ...], doc("The events.")]
    next: Annotated[str, doc("The cursor to continue with, now or later; always present.")]
    more: Annotated[
        bool,
        doc("True if there may be more events now, even after an empty page of one kind."),
    ]


class WebhookData(Record):
    """What the event is about."""

    event: Annotated[str, doc("The number of the event.")]
    subject: Subject
    id: SubjectId


class WebhookBody(Record):
    """The body of a message: no details, so that a receiver fetches them with its own key."""

    type: Kind
    timestamp: Annotated[Instant, doc("When it happened.")]
    data: WebhookData


def event_document(stored: StoredEvent, *, audit: bool) -> Event:
    """Return an event of the feed; `audit` adds the states before and after.

    >>> from datetime import UTC, datetime
    >>> from schemas.events.records import EventPlace, NewEvent
    >>> event = NewEvent(shop_id="s", key_id="k", at=datetime(2026, 11, 25, 15, tzinfo=UTC),
    ...                  kind="quote.created", subject="quote", subject_id="q")
    >>> event_document(StoredEvent(EventPlace(7, 12), event), audit=False).id
    '12'
    """
    event = stored.event
    return Event(
        str(stored.place.id),
        instant(event.at),
        event.kind,
        event.subject,
        event.subject_id,
        event.key_id,
        _facts(event.before) if audit else UNSET,
        _facts(event.after) if audit else UNSET,
    )


def _facts(document: bytes | None) -> Facts:
    """Return a stored JSON document, to be written unchanged."""
    return None if document is None else cast(Facts, Raw(document))


def webhook_body(stored: StoredEvent) -> bytes:
    """Return the body of the message about an event."""
    event = stored.event
    data = WebhookData(str(stored.place.id), event.subject, event.subject_id)
    return encode(WebhookBody(event.kind, instant(event.at), data))
