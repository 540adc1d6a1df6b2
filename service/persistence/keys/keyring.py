"""Stored API keys."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    String,
    Table,
    Text,
    bindparam,
    insert,
    or_,
    select,
    update,
)

from schemas.keys import KeyRecord
from service.domain.errors import NotFound
from service.persistence.sql.metadata import ID, WORDS, column, metadata
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Instant, Written

api_keys = Table(
    "api_keys",
    metadata,
    Column("id", ID, primary_key=True),
    column("shop_id", ID, ForeignKey("shops.id")),
    column("name", Text),
    column("secret_hash", String(64)),
    column("scopes", Written(WORDS)),
    column("created_at", Instant),
    column("expires_at", Instant, null=True),
    column("revoked_at", Instant, null=True),
    column("last_used_at", Instant, null=True),
    column("origins", Written(WORDS)),
    column("per_minute", BigInteger, null=True),
    column("version", BigInteger),
    Index(None, "shop_id", "created_at"),
)


_BY_ID = select(api_keys).where(api_keys.c.id == bindparam("key_id"))
_OF_SHOP = (
    select(api_keys)
    .where(api_keys.c.shop_id == bindparam("shop_id"))
    .order_by(api_keys.c.created_at, api_keys.c.id)
)


class SqlKeys:
    """The SQL implementation of the `Keys` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, key: KeyRecord) -> None:
        """Store a new key."""
        row = {
            "id": key.id,
            "shop_id": key.shop_id,
            "name": key.name,
            "secret_hash": key.secret_hash,
            "scopes": tuple(sorted(key.scopes)),
            "created_at": key.created_at,
            "expires_at": key.expires_at,
            "revoked_at": key.revoked_at,
            "last_used_at": key.last_used_at,
            "origins": tuple(sorted(key.origins)),
            "per_minute": key.per_minute,
            "version": key.version,
        }
        self._session.connection.execute(insert(api_keys), row)

    def by_id(self, key_id: str) -> KeyRecord:
        """Return the key with this id, in whatever state.

        Raises:
            NotFound: there is none.
        """
        row = self._session.connection.execute(_BY_ID, {"key_id": key_id}).one_or_none()
        return _record(found(row, "such key"))

    def of_shop(self, shop_id: str) -> tuple[KeyRecord, ...]:
        """Return all keys of a shop, oldest first."""
        rows = self._session.connection.execute(_OF_SHOP, {"shop_id": shop_id})
        return tuple(_record(row) for row in rows)

    def revoke(self, shop_id: str, key_id: str, at: datetime) -> None:
        """Revoke a key from `at` on; revoking it again changes nothing.

        Raises:
            NotFound: the shop has no such key.
        """
        mine = update(api_keys).where(api_keys.c.shop_id == shop_id, api_keys.c.id == key_id)
        connection = self._session.connection
        values = {"revoked_at": at, "version": api_keys.c.version + 1}
        done = connection.execute(mine.where(api_keys.c.revoked_at.is_(None)).values(values))
        if done.rowcount != 1 and self.by_id(key_id).shop_id != shop_id:
            raise NotFound("this shop has no such key")

    def save(self, key: KeyRecord) -> bool:
        """Store a key's changed fields as its next version; return False if changed meanwhile."""
        mine = update(api_keys).where(
            api_keys.c.shop_id == key.shop_id,
            api_keys.c.id == key.id,
            api_keys.c.version == key.version,
        )
        values = {
            "name": key.name,
            "expires_at": key.expires_at,
            "origins": tuple(sorted(key.origins)),
            "per_minute": key.per_minute,
            "version": key.version + 1,
        }
        return self._session.connection.execute(mine.values(values)).rowcount == 1

    def origins(self, at: datetime) -> frozenset[str]:
        """Return every origin listed by a key in force, of any shop."""
        ends, revoked = api_keys.c.expires_at, api_keys.c.revoked_at
        statement = select(api_keys.c.origins).distinct()
        statement = statement.where(
            api_keys.c.origins != (),
            or_(ends.is_(None), ends > at),
            or_(revoked.is_(None), revoked > at),
        )
        rows = self._session.connection.execute(statement)
        return frozenset(origin for row in rows for origin in row.origins)

    def used(self, key_id: str, at: datetime, unless_since: datetime) -> None:
        """Store the use at `at`, unless one later than `unless_since` is already stored."""
        last = api_keys.c.last_used_at
        due = or_(last.is_(None), last <= unless_since)
        mine = update(api_keys).where(api_keys.c.id == key_id, due)
        self._session.connection.execute(mine.values(last_used_at=at))


def _record(row: Any) -> KeyRecord:
    return KeyRecord(
        id=row.id,
        shop_id=row.shop_id,
        name=row.name,
        secret_hash=row.secret_hash,
        scopes=frozenset(row.scopes),
        created_at=row.created_at,
        expires_at=row.expires_at,
        revoked_at=row.revoked_at,
        last_used_at=row.last_used_at,
        origins=frozenset(row.origins),
        per_minute=row.per_minute,
        version=row.version,
    )
