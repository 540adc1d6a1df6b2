"""API keys on the wire: what is sent to make or change one, and how one is shown."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any, ClassVar

from schemas.quotes.answer import instant
from schemas.quotes.records import KeyRecord
from schemas.wire.document import Document, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import OneOf, StrictInteger, Words
from schemas.wire.figures import Json
from schemas.wire.wire_field import Shape, WireField
from service.app.keys.access import SCOPES
from service.app.keys.issuing import WantedKey, state_of
from service.app.keys.origins import MOST_OF_A_KEY, read_origin
from service.domain.errors import BadValue

MOST_A_MINUTE = 1_000_000
LONGEST_OVERLAP = 30 * 24 * 3600
USUAL_OVERLAP = 24 * 3600
_INSTANT = re.compile(
    r"\d{4}-\d{2}-\d{2}[Tt]\d{2}:\d{2}:\d{2}(\.\d{1,6})?([Zz]|[+-]\d{2}:\d{2})", re.ASCII
)


class InstantField(WireField[datetime]):
    """An instant with its offset, as RFC 3339 writes it."""

    shape: ClassVar[Shape] = {"type": "string", "format": "date-time"}

    def read(self, value: Any) -> datetime:
        """The instant, in UTC."""
        try:
            if isinstance(value, str) and _INSTANT.fullmatch(value):
                return datetime.fromisoformat(value.upper()).astimezone(UTC)
        except (ValueError, OverflowError):
            pass
        raise refusal("bad_value", "write an instant as 2026-11-25T18:00:00Z")


class OriginField(WireField[str]):
    """A web origin."""

    shape: ClassVar[Shape] = {"type": "string", "minLength": 1, "maxLength": 300}

    def read(self, value: Any) -> str:
        """The origin as browsers write it."""
        try:
            return read_origin(value if isinstance(value, str) else "", "")
        except BadValue as error:
            raise refusal("bad_value", error.message) from error


class KeyRequestDocument(Document):
    """A key to be made."""

    name = Words(shortest=1, longest=100, required=True)
    scopes = Several(OneOf(SCOPES), least=1, most=len(SCOPES), required=True)
    expires_at = InstantField(allow_none=True)
    origins = Several(OriginField(), most=MOST_OF_A_KEY)
    per_minute = StrictInteger(least=1, most=MOST_A_MINUTE, allow_none=True)

    def make(self, values: dict[str, Any]) -> WantedKey:
        """What is wanted."""
        return WantedKey(**as_sets(values))


class KeyChangeDocument(Document):
    """What changes of a key; what is left out stays, and null takes an end or a limit away."""

    name = Words(shortest=1, longest=100)
    expires_at = InstantField(allow_none=True)
    origins = Several(OriginField(), most=MOST_OF_A_KEY)
    per_minute = StrictInteger(least=1, most=MOST_A_MINUTE, allow_none=True)

    def make(self, values: dict[str, Any]) -> dict[str, Any]:
        """The changes."""
        return as_sets(values)


class OverlapDocument(Document):
    """For how long the old one still counts, in seconds."""

    overlap_seconds = StrictInteger(least=0, most=LONGEST_OVERLAP)

    def make(self, values: dict[str, Any]) -> timedelta:
        """The overlap."""
        return timedelta(seconds=values.get("overlap_seconds", USUAL_OVERLAP))


KEY_REQUEST = KeyRequestDocument()
KEY_CHANGE = KeyChangeDocument()
OVERLAP = OverlapDocument()


def key_document(key: KeyRecord, now: datetime) -> Json:
    """A key without its secret, which is not stored."""
    return {
        "id": key.id,
        "name": key.name,
        "status": state_of(key, now),
        "scopes": sorted(key.scopes, key=SCOPES.index),
        "origins": sorted(key.origins),
        "per_minute": key.per_minute,
        "created_at": instant(key.created_at),
        "expires_at": maybe_instant(key.expires_at),
        "revoked_at": maybe_instant(key.revoked_at),
        "last_used_at": maybe_instant(key.last_used_at),
    }


def maybe_instant(at: datetime | None) -> str | None:
    """An instant, or null where there is none."""
    return None if at is None else instant(at)


def as_sets(values: dict[str, Any]) -> dict[str, Any]:
    """Loaded fields, with lists whose order means nothing as sets."""
    lists = ("scopes", "origins", "kinds")
    return {name: frozenset(v) if name in lists else v for name, v in values.items()}
