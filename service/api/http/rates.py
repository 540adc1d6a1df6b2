"""Rate limits on the wire: `RateLimit` and `RateLimit-Policy` (IETF draft, version 10), and 429."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from service.api.http.problems import RequestRefused
from service.api.http.wired import wiring
from service.app.keys.access import Principal
from service.persistence.keys.rates import WINDOW, Allowance
from service.wiring import Wiring

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
    per_minute = per_minute_of(wired, found)
    if not per_minute:
        environ[HEADERS] = ()
        return
    allowance = wired.rates.take(found.key_id, per_minute)
    environ[HEADERS] = _headers(allowance)
    if allowance.wait:
        raise _too_many(
            allowance.wait, f"this key may send {per_minute} requests a minute; try again after "
        )


def admit_more(found: Principal, environ: dict[str, Any], requests: int) -> None:
    """Count a request that was admitted as one for more of them, by the work that it brings.

    What is worth more than a minute of the key's takes the whole minute, so that nothing is too
    large for ever.

    Raises:
        RequestRefused: 429, where the key has not so many left.
    """
    wired = wiring()
    per_minute = per_minute_of(wired, found)
    more = min(requests, per_minute - 1)
    if not per_minute or more <= 0:
        return
    allowance = wired.rates.take(found.key_id, per_minute, more)
    environ[HEADERS] = _headers(allowance)
    if allowance.wait:
        again = allowance.wait + -(-WINDOW // per_minute)  # sent again it counts as one more first
        raise _too_many(again, f"this counts as {more + 1} requests; send it again after ")


def take_more(wired: Wiring, found: Principal, requests: int) -> None:
    """Count a line of a request that is answered already for more requests.

    Raises:
        RequestRefused: 429, where the key has not so many left.
    """
    per_minute = per_minute_of(wired, found)
    more = min(requests, per_minute)
    if more:
        allowance = wired.rates.take(found.key_id, per_minute, more)
        if allowance.wait:
            raise _too_many(allowance.wait, f"this counts as {more} requests; send it again after ")


def per_minute_of(wired: Wiring, found: Principal) -> int:
    """How many requests a minute a key may send; 0 for any number."""
    usual = wired.settings.rate_per_minute
    return usual if found.per_minute is None else found.per_minute


def _too_many(wait: int, said: str) -> RequestRefused:
    return RequestRefused(
        HTTPStatus.TOO_MANY_REQUESTS,
        "too_many_requests",
        f"{said}Retry-After",
        headers={"Retry-After": str(wait)},
    )


def _headers(allowance: Allowance) -> tuple[tuple[str, str], ...]:
    return (
        ("RateLimit-Policy", f'"{POLICY}";q={allowance.quota};w={WINDOW}'),
        ("RateLimit", f'"{POLICY}";r={allowance.left};t={allowance.full_in}'),
    )
