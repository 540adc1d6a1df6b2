"""Managing keys: creation, changes, rotation with an overlap, revocation; each step is recorded.

A key for public pages can only be a `price` key, since everybody can read it there: so only such a
key may allow every origin.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from schemas.keys import ANY, KeyRecord, WantedKey, state_of
from service.app.audit import note
from service.app.keys.access import IssuedKey, KeyWords, Principal, create_key
from service.domain.errors import BadValue, Conflict, NotFound, Stale
from service.persistence.unit_of_work import UnitOfWork

PUBLISHABLE = frozenset({"price"})
MOST_OF_A_SHOP = 500
Check = Callable[[int], int]
"""Refuses a version that the caller has not seen."""


def issue(
    uow: UnitOfWork, principal: Principal, wanted: WantedKey, now: datetime, words: KeyWords
) -> IssuedKey:
    """Create a key; the caller commits.

    Raises:
        BadValue: see `create_key`; or all origins for a key that may do more than price.
        Conflict: the shop has reached its limit.
    """
    return _made(uow, principal, wanted, now, words)


def change(
    uow: UnitOfWork,
    principal: Principal,
    key_id: str,
    check: Check,
    changes: Mapping[str, Any],
    now: datetime,
) -> KeyRecord:
    """Change a key's name, expiry, origins or limit; the caller commits.

    Raises:
        NotFound: the shop has no such key.
        Stale: its version differs from the one the caller has seen.
        Conflict: it is revoked, which is final.
        BadValue: an expiry in the past, or all origins for a key that may do more than price.
    """
    was = one(uow, principal.shop_id, key_id)
    check(was.version)
    if was.revoked_at is not None:
        raise Conflict("this key is revoked; make a new one")
    new = replace(was, **changes)
    if "expires_at" in changes and new.expires_at is not None and new.expires_at <= now:
        raise BadValue("a key cannot end in the past; revoke it instead", "/expires_at")
    _publishable(new.scopes, new.origins)
    return _saved(uow, principal, was, new, now, "key.changed")


def rotate(
    uow: UnitOfWork,
    principal: Principal,
    key_id: str,
    overlap: timedelta,
    now: datetime,
    words: KeyWords,
) -> IssuedKey:
    """Create a copy of a key, which itself expires when the overlap ends; the caller commits.

    If the old key had an expiry, the new one gets the same lifetime from now on, at most until the
    end of the calendar.

    Raises:
        NotFound: the shop has no such key.
        Conflict: the key is not in force any more, or the shop has reached its limit.
    """
    was = one(uow, principal.shop_id, key_id)
    if state_of(was, now) != "in_force":
        raise Conflict("this key is not in force any more; make a new one")
    ends = None if was.expires_at is None else _later(now, was.expires_at - was.created_at)
    wanted = WantedKey(
        name=was.name,
        scopes=was.scopes,
        expires_at=ends,
        origins=was.origins,
        per_minute=was.per_minute,
    )
    issued = _made(uow, principal, wanted, now, words)
    last = now + overlap
    if was.expires_at is None or was.expires_at > last:
        _saved(uow, principal, was, replace(was, expires_at=last), now, "key.rotated")
    return issued


def revoke(uow: UnitOfWork, principal: Principal, key_id: str, now: datetime) -> None:
    """Revoke a key at once; revoking it again changes nothing. The caller commits.

    Raises:
        NotFound: the shop has no such key.
    """
    was = one(uow, principal.shop_id, key_id)
    if was.revoked_at is not None:
        return
    uow.keys.revoke(principal.shop_id, key_id, now)
    _note(uow, principal, now, "key.revoked", was, replace(was, revoked_at=now))


def one(uow: UnitOfWork, shop_id: str, key_id: str) -> KeyRecord:
    """Return a key of a shop.

    Raises:
        NotFound: the shop has no such key.
    """
    found = uow.keys.by_id(key_id)
    if found.shop_id != shop_id:
        raise NotFound("this shop has no such key")
    return found


def _made(
    uow: UnitOfWork, principal: Principal, wanted: WantedKey, now: datetime, words: KeyWords
) -> IssuedKey:
    _publishable(wanted.scopes, wanted.origins)
    if len(uow.keys.of_shop(principal.shop_id)) >= MOST_OF_A_SHOP:
        raise Conflict(f"a shop has at most {MOST_OF_A_SHOP} keys, revoked ones among them")
    issued = create_key(
        uow,
        principal.shop_id,
        wanted.name,
        wanted.scopes,
        now,
        wanted.expires_at,
        origins=wanted.origins,
        per_minute=wanted.per_minute,
        words=words,
    )
    _note(uow, principal, now, "key.created", None, issued.record)
    return issued


def _publishable(scopes: frozenset[str], origins: frozenset[str]) -> None:
    if ANY in origins and scopes != PUBLISHABLE:
        raise BadValue(
            "only a key with the scope price alone may be used from everywhere", "/origins"
        )


def _saved(
    uow: UnitOfWork, principal: Principal, was: KeyRecord, new: KeyRecord, now: datetime, kind: str
) -> KeyRecord:
    if not uow.keys.save(new):
        raise Stale("this key has been changed meanwhile; read it again")
    _note(uow, principal, now, kind, was, new)
    return replace(new, version=was.version + 1)


def _note(
    uow: UnitOfWork,
    principal: Principal,
    now: datetime,
    kind: str,
    was: KeyRecord | None,
    new: KeyRecord,
) -> None:
    note(
        uow,
        shop_id=principal.shop_id,
        key_id=principal.key_id,
        at=now,
        kind=kind,
        subject="key",
        subject_id=new.id,
        before=None if was is None else _facts(was),
        after=_facts(new),
    )


def _facts(key: KeyRecord) -> bytes:
    """Return the audit record of a key, without its secret."""
    facts = {
        "name": key.name,
        "scopes": sorted(key.scopes),
        "expires_at": None if key.expires_at is None else key.expires_at.isoformat(),
        "revoked_at": None if key.revoked_at is None else key.revoked_at.isoformat(),
        "origins": sorted(key.origins),
        "per_minute": key.per_minute,
    }
    return json.dumps(facts).encode()


def _later(now: datetime, life: timedelta) -> datetime:
    """Return the instant after this lifetime, at most the calendar's last one."""
    last = datetime.max.replace(tzinfo=UTC)
    return now + life if life <= last - now else last
