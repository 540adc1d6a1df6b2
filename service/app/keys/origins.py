"""Web origins: how one is written, and which of them any key in force lists."""

from __future__ import annotations

import re
from collections.abc import Callable

from service.app.ports import Clock, StorageUnavailable, UnitsOfWork
from service.domain.errors import BadValue

ANY = "*"
"""Stands for every origin."""
MOST_OF_A_KEY = 50
_ORIGIN = re.compile(r"https?://([a-z0-9.-]{1,253}|\[[0-9a-f:.]{2,45}\])(:[0-9]{1,5})?", re.ASCII)


def read_origin(text: str, where: str) -> str:
    """An origin as browsers write it (RFC 6454): https://shop.example, http://localhost:5173.

    Raises:
        BadValue: it has a path, or is no origin of a page.
    """
    origin = text.strip().lower()
    if origin == ANY or _ORIGIN.fullmatch(origin):
        return origin.removesuffix(":443" if origin.startswith("https:") else ":80")
    raise BadValue(
        "an origin is written as https://shop.example, without a path; or * for all", where
    )


class KnownOrigins:
    """The origins that any key in force lists, as they were at most `ttl` seconds ago."""

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
