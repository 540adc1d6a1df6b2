"""Events as documents: full for the change feed, reduced for webhooks."""

from __future__ import annotations

from typing import Any

import orjson

from schemas.events.records import StoredEvent
from schemas.wire.figures import Json, instant


def event_document(stored: StoredEvent, *, audit: bool) -> Json:
    """Return an event of the feed; `audit` adds the states before and after.

    >>> from datetime import UTC, datetime
    >>> from schemas.events.records import EventPlace, NewEvent
    >>> event = NewEvent(shop_id="s", key_id="k", at=datetime(2026, 11, 25, 15, tzinfo=UTC),
    ...                  kind="quote.created", subject="quote", subject_id="q")
    >>> event_document(StoredEvent(EventPlace(7, 12), event), audit=False)["id"]
    '12'
    """
    event = stored.event
    document: dict[str, Any] = {
        "id": str(stored.place.id),
        "at": instant(event.at),
        "kind": event.kind,
        "subject": event.subject,
        "subject_id": event.subject_id,
        "key": event.key_id,
    }
    if audit:
        document["before"] = _fragment(event.before)
        document["after"] = _fragment(event.after)
    return document


def _fragment(document: bytes | None) -> orjson.Fragment | None:
    return None if document is None else orjson.Fragment(document)
