"""Pages of other origins that may call the service (CORS in the Fetch standard).

A key lists the origins whose pages may use it. A preflight carries no key, so it is granted to any
origin that a key in force lists, of whatever shop: that alone gives nothing away. The request
itself is checked against its own key's list, and refused before anything is done if its origin is
not on it. A key without a list is for servers; pages of the service's own origin may use any key.
"""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from schemas.keys import ANY
from service.api.http.problems import RequestRefused
from service.app.keys.access import Principal

GRANTED = "framing_quotes.origin_granted"
"""The environ key for whether the caller's key lets its origin read the response."""
ASKED = "Authorization, Content-Type, Idempotency-Key, If-Match, If-None-Match, X-Request-Id"
SHOWN = (
    "Content-Disposition, Deprecation, ETag, Link, Location, RateLimit, RateLimit-Policy, "
    "Retry-After, Sunset, X-Request-Id"
)
KEPT_SECONDS = "600"


def check_origin(found: Principal, environ: dict[str, Any]) -> None:
    """Check a page's request against the origins of its key.

    Raises:
        RequestRefused: 403, the key does not list the page's origin.
    """
    origin = environ.get("HTTP_ORIGIN")
    if origin is None or GRANTED in environ:
        return
    environ[GRANTED] = listed = origin in found.origins or ANY in found.origins
    if not listed and not _own(origin, environ):
        raise RequestRefused(
            HTTPStatus.FORBIDDEN,
            "origin_not_allowed",
            "this key is not for pages of this origin; list the origin with the key",
        )


def _own(origin: str, environ: dict[str, Any]) -> bool:
    """Return True if the page is of this service: the browser says so, or the hosts are equal."""
    if environ.get("HTTP_SEC_FETCH_SITE") == "same-origin":
        return True
    return origin == f"{environ['wsgi.url_scheme']}://{environ.get('HTTP_HOST', '')}"


def preflight_headers(allowed: str) -> list[tuple[str, str]]:
    """Return the headers of a preflight response; `allowed` is the address's own `Allow`."""
    return [
        ("Access-Control-Allow-Methods", allowed),
        ("Access-Control-Allow-Headers", ASKED),
        ("Access-Control-Max-Age", KEPT_SECONDS),
    ]
