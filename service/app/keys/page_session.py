"""A short session on the owner's page: the key is sent once, then a signed token replaces it.

The token names the key and its own expiry, and is signed with the stored hash of the key. So every
node can check it, it needs no secret of its own, and it ends with the key: when that is revoked,
replaced or expires. The key cannot be derived from it.
"""

from __future__ import annotations

import hmac
import re
from datetime import UTC, datetime, timedelta
from hashlib import sha256

from schemas.keys import KeyRecord
from service.app.keys.access import Principal, in_force, not_known, principal_of
from service.domain.errors import NotFound
from service.persistence.unit_of_work import UnitOfWork

LASTS = timedelta(minutes=30)
_WORD = re.compile(r"([0-9a-f]{16})\.([0-9]{10})\.([0-9a-f]{64})", re.ASCII)


def stay(record: KeyRecord, now: datetime) -> str:
    """Return the token for a session that begins now."""
    ends = int((now + LASTS).timestamp())
    return f"{record.id}.{ends}.{_signature(record, ends)}"


def staying(uow: UnitOfWork, word: str, now: datetime) -> Principal:
    """Return the principal of a session.

    Raises:
        NotKnown: it is not a session, it has ended, or its key is not in force any more.
    """
    parts = _WORD.fullmatch(word)
    if parts is None:
        raise not_known()
    key_id, ends, signature = parts[1], int(parts[2]), parts[3]
    try:
        record = uow.keys.by_id(key_id)
    except NotFound:
        raise not_known() from None
    signed = hmac.compare_digest(signature, _signature(record, ends))
    over = now >= datetime.fromtimestamp(ends, UTC)
    if not signed or over or not in_force(record, now):
        raise not_known()
    return principal_of(record)


def _signature(record: KeyRecord, ends: int) -> str:
    text = f"stay on the owner's page {record.id} {ends}"
    return hmac.new(record.secret_hash.encode(), text.encode(), sha256).hexdigest()
