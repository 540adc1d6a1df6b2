"""Events as stored: what changed, when, and by which key."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """Something that changed.

    `kind` is a dotted word in the past tense (quote.created), `subject` what kind of thing changed,
    `subject_id` which one. `before` and `after` are JSON documents for the audit.
    """

    shop_id: str
    key_id: str
    at: datetime
    kind: str
    subject: str
    subject_id: str
    before: bytes | None = None
    after: bytes | None = None


@dataclass(frozen=True, slots=True, order=True)
class EventPlace:
    """A place in the feed; events after it are greater."""

    turn: int
    id: int


FEED_START = EventPlace(-1, 0)
"""Before every event."""


@dataclass(frozen=True, slots=True)
class StoredEvent:
    """An event and its place in the feed."""

    place: EventPlace
    event: NewEvent


@dataclass(frozen=True, slots=True, kw_only=True)
class EventFilter:
    """Which events a reader wants."""

    kind: str | None = None
    subject_id: str | None = None


@dataclass(frozen=True, slots=True)
class EventPage:
    """Events in the order of the feed; reading goes on after `after`, now if `more`, or later."""

    events: tuple[StoredEvent, ...]
    after: EventPlace
    more: bool
