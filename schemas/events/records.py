"""Records of events and webhooks: events, endpoints, messages, delivery attempts."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from service.domain.errors import BadValue

EndpointState = Literal["active", "paused", "gone"]
MessageState = Literal["pending", "delivered", "failed"]
MESSAGE_STATES: tuple[MessageState, ...] = ("pending", "delivered", "failed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Endpoint:
    """The destination of a shop's events.

    `kinds` are the kinds subscribed to, none for all. `generation` counts its secrets; the previous
    one also signs until `former_until`. `place` is how far the feed has been read for it.
    """

    id: str
    shop_id: str
    url: str
    kinds: frozenset[str]
    description: str
    created_at: datetime
    place: EventPlace
    state: EndpointState = "active"
    generation: int = 1
    former_until: datetime | None = None
    version: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """An event queued for an endpoint; `due_at` is the time of the next attempt.

    `attempts` counts all of them, `retries` those since it was queued or last replayed.
    """

    id: str
    endpoint_id: str
    event_id: int
    kind: str
    body: bytes
    created_at: datetime
    state: MessageState = "pending"
    attempts: int = 0
    retries: int = 0
    due_at: datetime | None = None
    delivered_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One delivery attempt: the HTTP status, or the error that prevented an answer."""

    number: int
    at: datetime
    status: int | None
    error: str
    milliseconds: int


_KIND = re.compile(r"[a-z][a-z_]*(\.[a-z][a-z_]*)+", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """A change to a record.

    Attributes:
        shop_id: the shop that owns the record.
        key_id: the key that made the change, `NOBODY` for a command.
        at: when.
        kind: a dotted word in the past tense, such as quote.created.
        subject: the type of the changed record, such as quote.
        subject_id: its id.
        before: the previous state as a JSON document; None if it did not exist.
        after: the new state; None if it was deleted. Never a secret: keys with the scope `admin`
            read both.

    Raises:
        BadValue: the kind is not such a word.
    """

    shop_id: str
    key_id: str
    at: datetime
    kind: str
    subject: str
    subject_id: str
    before: bytes | None = None
    after: bytes | None = None

    def __post_init__(self) -> None:
        if not _KIND.fullmatch(self.kind):
            told = f"{self.kind[:40]!r} is no kind of event; quote.created is one"
            raise BadValue(told, "/kind")


@dataclass(frozen=True, slots=True, order=True)
class EventPlace:
    """A position in the feed; later events compare greater."""

    turn: int
    id: int


FEED_START = EventPlace(-1, 0)
"""Before every event."""


@dataclass(frozen=True, slots=True)
class StoredEvent:
    """An event and its position in the feed."""

    place: EventPlace
    event: NewEvent


@dataclass(frozen=True, slots=True, kw_only=True)
class EventFilter:
    """The events a reader wants."""

    kind: str | None = None
    subject_id: str | None = None


@dataclass(frozen=True, slots=True)
class EventPage:
    """Events in feed order; continue after `after`, immediately if `more`, or later."""

    events: tuple[StoredEvent, ...]
    after: EventPlace
    more: bool
