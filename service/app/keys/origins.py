"""Web origins: their syntax, and those that any key in force lists."""

from __future__ import annotations

from collections.abc import Callable

from schemas.keys import ANY
from service.persistence.sql.session import Clock, StorageUnavailable
from service.persistence.unit_of_work import UnitsOfWork

"""Stands for every origin."""


class KnownOrigins:
    """The origins that keys in force list, as of at most `ttl` seconds ago."""

    def __init__(
        self, units: UnitsOfWork, clock: Clock, ttl: float, monotonic: Callable[[], float]
    ) -> None:
        self._units = units
        self._clock = clock
        self._ttl = ttl
        self._monotonic = monotonic
        self._known: tuple[frozenset[str], float] | None = None

    def __contains__(self, origin: str) -> bool:
        known = self._origins()
        return origin in known or ANY in known

    def _origins(self) -> frozenset[str]:
        known = self._known
        if known is not None and self._monotonic() - known[1] < self._ttl:
            return known[0]
        asked_at = self._monotonic()
        try:
            with self._units.reading() as uow:
                found = uow.keys.origins(self._clock())
        except StorageUnavailable:
            return frozenset()
        self._known = (found, asked_at)
        return found
