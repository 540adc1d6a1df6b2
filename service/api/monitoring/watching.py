"""Request monitoring: each is counted for `/metrics`, and logged in one line.

The line has the request's id, the key's id, the route's rule (never the address, which may hold a
number or a search), the status and the milliseconds, and nothing of what was sent or answered. This
is WSGI middleware inside the edge, so that the request's id is known, and around Flask.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from time import perf_counter
from typing import Any

from flask import Flask, request

from service.api.http.context import KEY
from service.api.monitoring.metrics import figures
from service.logs import FIELDS

ROUTE = "framing_quotes.route"
"""The environ key for the rule of the request's route: /v1/quotes/<quote_id>."""
NO_ROUTE = "none"
"""The route's name if no route took the request."""
OFTEN_ASKED = frozenset(("/healthz", "/readyz", "/metrics"))
"""Polled by machines every few seconds: logged at debug level only."""
_log = logging.getLogger("framing_quotes.requests")


class Watch:
    """Monitors an application's requests."""

    def __init__(self, app: Any) -> None:
        self._app = app
        self._count = figures().count

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Answer one request."""
        began = perf_counter()
        statuses: list[str] = []

        def begin(status: str, headers: Any, problem: Any = None) -> Any:
            statuses.append(status[:3])
            return start_response(status, headers, problem)

        body: Iterable[bytes] = self._app(environ, begin)
        seconds = perf_counter() - began
        status = statuses[-1] if statuses else "500"
        method, route = environ["REQUEST_METHOD"], environ.get(ROUTE, NO_ROUTE)
        self._count(method, route, status, seconds)
        level = _level(route, status)
        if _log.isEnabledFor(level):
            _tell(level, method, route, status, seconds, environ)
        return body


def watch(app: Flask) -> Watch:
    """Return a monitor around an application."""
    app.before_request(_note_route)
    return Watch(app.wsgi_app)


def _note_route() -> None:
    """Store the rule of the route that takes a request: Flask forgets it with the request."""
    if request.url_rule is not None:
        request.environ[ROUTE] = request.url_rule.rule


def _level(route: str, status: str) -> int:
    if status >= "500":
        return logging.ERROR
    return logging.DEBUG if route in OFTEN_ASKED else logging.INFO


def _tell(
    level: int, method: str, route: str, status: str, seconds: float, environ: dict[str, Any]
) -> None:
    fields = {
        "key": environ.get(KEY, ""),
        "method": method[:10],
        "route": route,
        "status": int(status),
        "ms": round(seconds * 1000, 2),
    }
    # Made and handled directly: `log` would walk the stack for the caller, which is always this
    # one.
    record = logging.LogRecord(_log.name, level, "", 0, "answered", (), None)
    setattr(record, FIELDS, fields)
    _log.handle(record)
