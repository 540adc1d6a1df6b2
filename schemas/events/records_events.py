"""Events as stored: what changed, when, and by which key."""

from __future__ import annotations

import re
from datetime import datetime

from service.domain.errors import BadValue
from dataclasses import dataclass

_KIND = re.compile(r"[a-z][a-z_]*(\.[a-z][a-z_]*)+", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """Something that changed.

    Attributes:
        shop_id: whose it is.
        key_id: the key that did it, `NOBODY` for a command.
        at: when.
        kind: a dotted word in the past tense, such as quote.created.
        subject: what kind of thing changed, such as quote.
        subject_id: which one.
        before: what it was, as a JSON document; None where it was not there.
        after: what it is now; None where it is gone. Never a secret: keys with the scope `admin`
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
