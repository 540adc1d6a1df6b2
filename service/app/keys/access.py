"""Authentication and authorisation: API keys, their scopes, and token checks.

A token has the form `fq_<key id>_<secret>`; the secret is 32 random bytes, shown once and stored
only as its SHA-256. A plain hash is enough: the secret cannot be guessed as a password can, and
every request pays for the check. Unknown, wrong, expired and revoked keys all get the same answer.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from hmac import compare_digest

from schemas.keys import MARK, SCOPES, KeyRecord
from service.domain.errors import BadValue, NotAllowed, NotFound, NotKnown
from service.domain.text import hidden_in
from service.persistence.unit_of_work import UnitOfWork

NOTED_EVERY = timedelta(hours=1)
"""The interval at which a key's last use is recorded; each record is a write."""
KeyWords = tuple[str, str]
"""The id of a key and its secret."""
_NOBODY = sha256(b"").hexdigest()


@dataclass(frozen=True, slots=True)
class Principal:
    """The caller: a key of one shop, its scopes, and when it expires."""

    shop_id: str
    key_id: str
    scopes: frozenset[str]
    expires_at: datetime | None = None
    origins: frozenset[str] = frozenset()
    per_minute: int | None = None
    key_version: int = 1

    def may(self, scope: str) -> bool:
        """Return True if the key has this scope; `admin` includes all."""
        return scope in self.scopes or "admin" in self.scopes

    def must(self, *any_of: str) -> None:
        """Check that the key has one of these scopes.

        Raises:
            NotAllowed: it has none of them.
        """
        if not any(self.may(scope) for scope in any_of):
            raise NotAllowed(
                f"this key may not do that; it takes a key with the scope {' or '.join(any_of)}",
                facts={"scopes": " ".join(sorted(self.scopes))},
            )

    @property
    def sees_costs(self) -> bool:
        """True if this key may see costs and margins."""
        return self.may("counter") or self.may("reports")


@dataclass(frozen=True, slots=True)
class IssuedKey:
    """A new key: its record, and the token, which cannot be shown again."""

    record: KeyRecord
    token: str

    def __repr__(self) -> str:
        return f"IssuedKey({self.record.id})"


def random_words() -> KeyWords:
    """Return the id and the secret of a new key: 64 and 256 random bits."""
    return secrets.token_hex(8), secrets.token_urlsafe(32)


def secret_hash(secret: str) -> str:
    """Return the hash stored in place of a secret."""
    return sha256(secret.encode()).hexdigest()


def create_key(
    uow: UnitOfWork,
    shop_id: str,
    name: str,
    scopes: Iterable[str],
    now: datetime,
    expires_at: datetime | None = None,
    *,
    origins: frozenset[str] = frozenset(),
    per_minute: int | None = None,
    words: KeyWords | None = None,
) -> IssuedKey:
    """Create and store a key; the caller commits. `words` are fresh random ones by default.

    Raises:
        BadValue: no name, no scope, an unknown scope, or an expiry in the past.
    """
    given = frozenset(scopes)
    unknown = sorted(given - set(SCOPES))
    if unknown or not given:
        known = ", ".join(SCOPES)
        raise BadValue(f"a key needs one or more of the scopes {known}", "/scopes")
    if not name.strip():
        raise BadValue("a key needs a name, so that it can be told from others", "/name")
    hidden = hidden_in(name.strip())
    if hidden is not None:
        raise BadValue(f"in a key's name, {hidden.told}", "/name")
    if expires_at is not None and expires_at <= now:
        raise BadValue("a key cannot end before it begins", "/expires_at")
    key_id, secret = words or random_words()
    record = KeyRecord(
        id=key_id,
        shop_id=shop_id,
        name=name.strip(),
        secret_hash=secret_hash(secret),
        scopes=given,
        created_at=now,
        expires_at=expires_at,
        origins=origins,
        per_minute=per_minute,
    )
    uow.keys.add(record)
    return IssuedKey(record, f"{MARK}_{key_id}_{secret}")


def authenticate(uow: UnitOfWork, token: str, now: datetime) -> Principal:
    """Return the principal of a token.

    Raises:
        NotKnown: there is no such key, or it is not in force.
    """
    return principal_of(key_of(uow, token, now))


def principal_of(record: KeyRecord) -> Principal:
    """Return the principal of a key."""
    return Principal(
        shop_id=record.shop_id,
        key_id=record.id,
        scopes=record.scopes,
        expires_at=record.expires_at,
        origins=record.origins,
        per_minute=record.per_minute,
        key_version=record.version,
    )


def use_is_due(record: KeyRecord, now: datetime) -> bool:
    """Return True if a use at `now` should be recorded: none was within the last hour."""
    return record.last_used_at is None or record.last_used_at <= now - NOTED_EVERY


def key_of(uow: UnitOfWork, token: str, now: datetime) -> KeyRecord:
    """Return the key that a token belongs to.

    Raises:
        NotKnown: there is no such key, or it is not in force.
    """
    mark, key_id, secret = token_parts(token)
    try:
        record = uow.keys.by_id(key_id)
    except NotFound:
        compare_digest(secret_hash(secret), _NOBODY)  # unknown keys take as long as known ones
        raise not_known() from None
    fits = compare_digest(secret_hash(secret), record.secret_hash)
    if not fits or mark != MARK or not in_force(record, now):
        raise not_known()
    return record


def note_use(uow: UnitOfWork, principal: Principal, now: datetime) -> None:
    """Record the use of a key, at most once an hour; the caller commits."""
    uow.keys.used(principal.key_id, now, now - NOTED_EVERY)


def not_known() -> NotKnown:
    """Return the same answer for every token that is not in force."""
    return NotKnown(
        "this key is not known or not in force; send a current one as Authorization: Bearer …"
    )


def token_parts(token: str) -> tuple[str, str, str]:
    """Return mark, key id and secret; empty strings if the token is malformed."""
    parts = token.split("_", 2) if len(token) <= 200 and token.isascii() else []
    return (parts[0], parts[1], parts[2]) if len(parts) == 3 else ("", "", "")


def in_force(record: KeyRecord, now: datetime) -> bool:
    """Return True if a key is neither revoked nor expired."""
    if record.revoked_at is not None and record.revoked_at <= now:
        return False
    return record.expires_at is None or record.expires_at > now
