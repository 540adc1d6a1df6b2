"""Announcing the end of an address: `Deprecation` (RFC 9745) and `Sunset` (RFC 8594).

    @part.get("/v1/old")
    @deprecated(since=datetime(2027, 1, 1, tzinfo=UTC), sunset=datetime(2028, 1, 1, tzinfo=UTC),
                link="https://shop.example/changes")
    def old() -> Response: ...

Version 1 only ever grows, so nothing uses this yet; it exists so that future deprecations look
alike everywhere.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import wraps
from typing import ParamSpec

from flask import Response
from werkzeug.http import http_date

P = ParamSpec("P")


def deprecated(
    *, since: datetime, sunset: datetime | None = None, link: str = ""
) -> Callable[[Callable[P, Response]], Callable[P, Response]]:
    """Mark a view as deprecated.

    Args:
        since: the date of the deprecation; may be in the future.
        sunset: when it will be removed; not before `since`.
        link: a page that names the replacement.

    Raises:
        ValueError: instants without a zone, or a sunset before the deprecation.
    """
    if since.tzinfo is None or (sunset is not None and sunset.tzinfo is None):
        raise ValueError("these are instants; give them a zone")
    if sunset is not None and sunset < since:
        raise ValueError("what is gone cannot be deprecated later (RFC 9745, section 4)")
    headers = [("Deprecation", f"@{int(since.timestamp())}")]
    if sunset is not None:
        headers.append(("Sunset", http_date(sunset.astimezone(UTC))))
    if link:
        headers.append(("Link", f'<{link}>; rel="deprecation"; type="text/html"'))

    def mark(view: Callable[P, Response]) -> Callable[P, Response]:
        @wraps(view)
        def marked(*args: P.args, **kwargs: P.kwargs) -> Response:
            made = view(*args, **kwargs)
            for name, text in headers:
                made.headers.add(name, text)
            return made

        return marked

    return mark
