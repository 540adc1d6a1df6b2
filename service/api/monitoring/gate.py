"""Checks before a request's body is read: whether it may be sent, and its maximum size.

The worker calls this if a body does not arrive together with its head. Under `/v1` a key in force
is needed; elsewhere there are only small forms. The views check again, and decide.
"""

from __future__ import annotations

from http import HTTPStatus
from typing import Any, NoReturn

from service.api.http.operation import KEYED
from service.api.http.problems import RequestRefused
from service.app.keys.access import not_known
from service.persistence.sql.session import StorageUnavailable
from service.wiring import Wiring

BULK = "/v1/estimates/bulk"
ESTIMATES = "/v1/estimates"
FORM_LIMIT = 16_384
"""The maximum bytes of a body sent without a key."""
_ONLY_READ = frozenset(("GET", "HEAD", "OPTIONS"))


class Withheld:
    """Stands for a body that was not read; reading it raises the reason.

    `of_key` is the reason if the key was refused, so that the view need not look it up again.
    """

    def __init__(self, why: Exception, *, of_key: bool = False) -> None:
        self._why = why
        self.of_key = why if of_key else None

    def read(self, *_: Any) -> NoReturn:
        """Raise the reason.

        Raises:
            Exception: why the body was not read.
        """
        raise self._why

    readline = readlines = __iter__ = read


class Gate:
    """Used by a worker; thread-safe."""

    def __init__(self, wiring: Wiring) -> None:
        self._keys = wiring.keys
        self._limits = wiring.settings
        self.read_seconds = wiring.settings.read_seconds

    def most(self, request: Any) -> int:
        """Return the maximum size of a request's body in bytes; `request` is gunicorn's.

        Raises:
            NotKnown: it needs a key, and has none that is in force.
            StorageUnavailable: the key could not be checked.
        """
        if not request.path.startswith(KEYED):
            return min(FORM_LIMIT, self._limits.body_limit)
        self._keys.recent_principal(_token(request))
        bulk = request.path.rstrip("/") == BULK
        return self._limits.bulk_limit if bulk else self._limits.body_limit

    def stores(self, method: str, path: str) -> bool:
        """Return True if a request may store something, and so may wait for other writers."""
        return method not in _ONLY_READ and not path.startswith(ESTIMATES)

    def too_large(self, most: int | None) -> Withheld:
        """Return a stand-in for a body larger than `most` bytes."""
        return Withheld(
            RequestRefused(
                HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
                "body_too_large",
                f"a body holds at most {most} bytes",
            )
        )

    def busy(self) -> Withheld:
        """Return a stand-in for a body that nobody has the time to store."""
        return Withheld(StorageUnavailable("every thread waits for the database"), of_key=True)

    def refused(self, why: Exception) -> Withheld:
        """Return a stand-in for a body that may not be sent."""
        return Withheld(why, of_key=True)


def _token(request: Any) -> str:
    for name, value in request.headers:
        if name == "AUTHORIZATION":
            kind, _, sent = value.partition(" ")
            if kind.lower() == "bearer" and sent.strip():
                return str(sent.strip())
    raise not_known()
