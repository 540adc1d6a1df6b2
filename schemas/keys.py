"""API keys on the wire: requests to create or change one, and how one is shown."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta

from schemas.wire.base import Shape, WireField
from schemas.wire.document import Document, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import InstantField, OneOf, StrictInteger, Words, as_sets
from schemas.wire.figures import instant, maybe_instant
from schemas.wire.record import Record, doc, growing
from schemas.wire.values import Instant, Moment, Next
from service.domain.errors import BadValue

MOST_A_MINUTE = 1_000_000
LONGEST_OVERLAP = 30 * 24 * 3600
USUAL_OVERLAP = 24 * 3600


class OriginField(WireField[str]):
    """A web origin."""

    shape: ClassVar[Shape] = {"type": "string", "minLength": 1, "maxLength": 300}

    def read(self, value: Any) -> str:
        """Return the origin as browsers write it."""
        try:
            return read_origin(value if isinstance(value, str) else "", "")
        except BadValue as error:
            raise refusal("bad_value", error.message) from error


MOST_OF_A_KEY = 50


KeyState = Literal["in_force", "expired", "revoked"]
SCOPES = ("price", "counter", "bench", "reports", "admin")


class KeyRequestDocument(Document):
    """A key to be made."""

    name = Words(shortest=1, longest=100, required=True, means="What the key is for.")
    scopes = Several(
        OneOf(SCOPES),
        least=1,
        most=len(SCOPES),
        required=True,
        means="What it may do. A key for public pages has only `price`.",
    )
    expires_at = InstantField(allow_none=True, means="When it expires. Default: never.")
    origins = Several(
        OriginField(),
        most=MOST_OF_A_KEY,
        means=(
            "The origins whose pages may use it, as https://shop.example; `*` for "
            "all, only with the scope `price`. Default: none, for a key that servers "
            "use."
        ),
    )
    per_minute = StrictInteger(
        least=1,
        most=MOST_A_MINUTE,
        allow_none=True,
        means="Requests that it may send per minute. Default: the service's.",
    )

    def make(self, values: dict[str, Any]) -> WantedKey:
        """Return the requested key."""
        return WantedKey(**as_sets(values))


class KeyChangeDocument(Document):
    """What changes of a key; what is left out stays, and null takes an end or a limit away."""

    name = Words(shortest=1, longest=100, means="What the key is for.")
    expires_at = InstantField(allow_none=True, means="When it expires; null for never.")
    origins = Several(
        OriginField(), most=MOST_OF_A_KEY, means="The origins whose pages may use it."
    )
    per_minute = StrictInteger(
        least=1,
        most=MOST_A_MINUTE,
        allow_none=True,
        means="Requests that it may send per minute; null for the service's default.",
    )

    def make(self, values: dict[str, Any]) -> dict[str, Any]:
        """Return the changes."""
        return as_sets(values)


class OverlapDocument(Document):
    """For how long the old one still counts, in seconds."""

    overlap_seconds = StrictInteger(
        least=0, most=LONGEST_OVERLAP, means="How long the old one stays valid. Default: a day."
    )

    def make(self, values: dict[str, Any]) -> timedelta:
        """Return the overlap."""
        return timedelta(seconds=values.get("overlap_seconds", USUAL_OVERLAP))


KEY_REQUEST = KeyRequestDocument()
KEY_CHANGE = KeyChangeDocument()
OVERLAP = OverlapDocument()


class Key(Record):
    """An API key, without its secret."""

    id: Annotated[str, doc("The key's id; the middle part of its token.")]
    name: Annotated[str, doc("What it is for.")]
    status: Annotated[KeyState, doc("Whether it is valid now.")]
    scopes: Annotated[
        tuple[Annotated[str, growing(SCOPES, "A scope.")], ...], doc("What it may do.")
    ]
    origins: Annotated[
        tuple[str, ...],
        doc("The origins whose pages may use it; empty for a key that servers use."),
    ]
    per_minute: Annotated[
        Annotated[int, Meta(ge=1)] | None,
        doc("Requests that it may send per minute; null for the service's default."),
    ]
    created_at: Annotated[Instant, doc("When it was created.")]
    expires_at: Annotated[Moment | None, doc("When it expires; null for never.")]
    revoked_at: Annotated[Moment | None, doc("When it was revoked; null if it was not.")]
    last_used_at: Annotated[
        Moment | None, doc("When it was last used, to about an hour; null for never.")
    ]


class KeyIssued(Key):
    """A key that has just been created."""

    token: Annotated[str, doc("Sent as `Authorization: Bearer …`; shown only once.")]


class KeyList(Record):
    """All keys of a shop, oldest first."""

    items: Annotated[tuple[Key, ...], doc("The keys.")]
    next: Next


def key_document(key: KeyRecord, now: datetime) -> Key:
    """Return a key without its secret, which is not stored."""
    return Key(
        key.id,
        key.name,
        state_of(key, now),
        tuple(sorted(key.scopes, key=SCOPES.index)),
        tuple(sorted(key.origins)),
        key.per_minute,
        instant(key.created_at),
        maybe_instant(key.expires_at),
        maybe_instant(key.revoked_at),
        maybe_instant(key.last_used_at),
    )


MARK = "fq"


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedKey:
    """The data of a new key."""

    name: str
    scopes: frozenset[str]
    expires_at: datetime | None = None
    origins: frozenset[str] = frozenset()
    per_minute: int | None = None


def state_of(key: KeyRecord, now: datetime) -> KeyState:
    """Return the status of a key: in_force, expired or revoked."""
    if key.revoked_at is not None and key.revoked_at <= now:
        return "revoked"
    return "expired" if key.expires_at is not None and key.expires_at <= now else "in_force"


ANY = "*"


_ORIGIN = re.compile(r"https?://([a-z0-9.-]{1,253}|\[[0-9a-f:.]{2,45}\])(:[0-9]{1,5})?", re.ASCII)


def read_origin(text: str, where: str) -> str:
    """Return an origin as browsers write it (RFC 6454).

    For example https://shop.example or http://localhost:5173.

    Raises:
        BadValue: it has a path, or is not a web origin.
    """
    origin = text.strip().lower()
    if origin == ANY or _ORIGIN.fullmatch(origin):
        return origin.removesuffix(":443" if origin.startswith("https:") else ":80")
    raise BadValue(
        "an origin is written as https://shop.example, without a path; or * for all", where
    )


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """An API key as stored: not the secret, only its SHA-256 in hexadecimal.

    `origins` are the web origins whose pages may use it; a key without origins is for servers.
    `per_minute` is its request limit, None for the service's default.
    """

    id: str
    shop_id: str
    name: str
    secret_hash: str
    scopes: frozenset[str]
    created_at: datetime
    expires_at: datetime | None = None
    revoked_at: datetime | None = None
    last_used_at: datetime | None = None
    origins: frozenset[str] = frozenset()
    per_minute: int | None = None
    version: int = 1
