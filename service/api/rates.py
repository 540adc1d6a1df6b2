"""Rate limits on the wire: `RateLimit` and `RateLimit-Policy` (IETF draft, version 10), and 429."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from service.api.problems import RequestRefused
from service.api.wired import wiring
from service.app.access import Principal
from service.app.rates import WINDOW, Allowance

POLICY = "key"
"""The one policy there is: so many requests a minute for each key."""
HEADERS = "framing_quotes.rate"
"""Where in the environ of a request the headers of its answer wait."""


def admit(found: Principal, environ: dict[str, Any]) -> None:
    """Count a request of a key, once however often the key is looked at.

    Raises:
        RequestRefused: 429, where the key has sent all it may.
    """
    if HEADERS in environ:
        return
    wired = wiring()
    usual = wired.settings.rate_per_minute
    per_minute = usual if found.per_minute is None else found.per_minute
    if not per_minute:
        environ[HEADERS] = ()
        return
    allowance = wired.rates.take(found.key_id, per_minute)
    environ[HEADERS] = _headers(allowance)
    if allowance.wait:
        raise RequestRefused(
            HTTPStatus.TOO_MANY_REQUESTS,
            "too_many_requests",
            f"this key may send {per_minute} requests a minute; try again after Retry-After",
            headers={"Retry-After": str(allowance.wait)},
        )


def _headers(allowance: Allowance) -> tuple[tuple[str, str], ...]:
    return (
        ("RateLimit-Policy", f'"{POLICY}";q={allowance.quota};w={WINDOW}'),
        ("RateLimit", f'"{POLICY}";r={allowance.left};t={allowance.full_in}'),
    )
