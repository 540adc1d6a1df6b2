"""A cache of recently checked keys, so that a busy caller's estimates need no database query.

If the caller accepts a recent check, a revoked key may keep working for at most `ttl` seconds;
expiry is checked every time. Tokens are cached only as hashes.
"""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock

from schemas.keys import KeyRecord
from service.app.keys.access import (
    NOTED_EVERY,
    Principal,
    key_of,
    not_known,
    principal_of,
    secret_hash,
    use_is_due,
)
from service.persistence.sql.session import Clock, StorageUnavailable
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

MOST = 10_000
"""The number of keys cached; all are dropped when it is reached, and each costs one query again."""

NOTE_SECONDS = 0.05
"""The seconds that recording a key's use may wait for other writers before it is given up."""


class KeyRing:
    """The principals of recently checked tokens; thread-safe."""

    def __init__(
        self, units: UnitsOfWork, clock: Clock, ttl: float, monotonic: Callable[[], float]
    ) -> None:
        self._units = units
        self._clock = clock
        self._ttl = ttl
        self._monotonic = monotonic
        self._lock = Lock()
        self._known: dict[str, tuple[Principal, float]] = {}

    def principal(self, token: str) -> Principal:
        """Return a token's principal, from the database.

        Raises:
            NotKnown: there is no such key, or it is not in force.
        """
        with self._units.reading() as uow:
            record = self._learn(uow, token)
        if use_is_due(record, self._clock()):
            self._note_use(record)
        return principal_of(record)

    def principal_within(self, uow: UnitOfWork, token: str) -> Principal:
        """Return a token's principal, read within an open unit of work.

        Raises:
            NotKnown: there is no such key, or it is not in force.
        """
        return principal_of(self._learn(uow, token))

    def recent_principal(self, token: str) -> Principal:
        """Return a token's principal as of at most `ttl` seconds ago; a busy key needs no query.

        Raises:
            NotKnown: there is no such key, or it is not in force.
        """
        known = self._known.get(secret_hash(token))
        if known is None or self._monotonic() - known[1] >= self._ttl:
            return self.principal(token)
        principal = known[0]
        if principal.expires_at is not None and principal.expires_at <= self._clock():
            raise not_known()
        return principal

    def _learn(self, uow: UnitOfWork, token: str) -> KeyRecord:
        asked_at = self._monotonic()
        record = key_of(uow, token, self._clock())
        with self._lock:
            if len(self._known) >= MOST:
                self._known.clear()
            self._known[secret_hash(token)] = (principal_of(record), asked_at)
        return record

    def _note_use(self, record: KeyRecord) -> None:
        """Record the use, once an hour; nobody waits for this or is refused if it fails."""
        now = self._clock()
        try:
            with self._units.writing(lock_seconds=NOTE_SECONDS) as uow:
                uow.keys.used(record.id, now, now - NOTED_EVERY)
                uow.commit()
        except StorageUnavailable:
            return
