"""Added to every response: an id, security headers, limits, CORS, compression.

This is WSGI middleware and not a Flask hook, because it works on the plain list of headers: it
costs a few microseconds, and covers responses that Flask itself makes.

Request ids: a caller's own `X-Request-Id` is kept if it is a plain word, so that one id runs
through all systems; else one is generated. It is in the response and in every log line of the
request.
"""

from __future__ import annotations

import gzip
import logging
import re
from collections.abc import Callable, Iterable
from contextvars import ContextVar
from random import getrandbits
from typing import Any

from service.api.http.context import HEADERS as RATE_HEADERS
from service.api.http.origins import GRANTED, SHOWN, preflight_headers
from service.app.keys.origins import KnownOrigins

Environ = dict[str, Any]
HeaderList = list[tuple[str, str]]
StartResponse = Callable[..., Any]
WsgiApp = Callable[[Environ, StartResponse], Iterable[bytes]]

REQUEST_ID: ContextVar[str] = ContextVar("request_id", default="-")
"""The id of the request being answered."""
GZIP_LEVEL = 4
GZIP_MARK = "-gz"
"""The suffix of a compressed answer's entity tag: another representation (RFC 9110, 8.8.3)."""
_SANE_ID = re.compile(r"[A-Za-z0-9._:-]{1,64}", re.ASCII)
_COMPRESSES = ("application/json", "application/problem+json", "text/", "image/svg+xml")
_NO_GZIP = re.compile(r"(gzip|\*)\s*;\s*q=0(\.0*)?\s*(,|$)")
ALWAYS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("X-Frame-Options", "DENY"),
    ("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'"),
    ("Cache-Control", "no-store"),
)
"""Set unless the response sets its own, as pages do."""


class RequestIdInLogs(logging.Filter):
    """Gives every log record the id of its request."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Add `request_id`; no record is dropped."""
        record.request_id = REQUEST_ID.get()
        return True


class Edge:
    """The outermost layer of the service."""

    def __init__(self, app: WsgiApp, origins: KnownOrigins, gzip_from: int) -> None:
        self._app = app
        self._origins = origins
        self._gzip_from = gzip_from

    def __call__(self, environ: Environ, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        request_id = environ.get("HTTP_X_REQUEST_ID", "")
        if not _SANE_ID.fullmatch(request_id):
            request_id = f"{getrandbits(64):016x}"  # nosec B311: no secret
        marked = _unmark(environ)
        begun: list[Any] = []

        def begin(status: str, headers: HeaderList, problem: Any = None) -> None:
            begun[:] = (status, headers, problem)

        mark = REQUEST_ID.set(request_id)
        try:
            body = self._app(environ, begin)
        finally:
            REQUEST_ID.reset(mark)
        status, headers, problem = begun
        self._finish(environ, headers, request_id)
        if marked and status.startswith("304"):
            _mark_tag(headers)
        if self._gzip_from:
            body = self._zipped(environ, headers, body)
        start_response(status, headers, problem)
        return body

    def _finish(self, environ: Environ, headers: HeaderList, request_id: str) -> None:
        there = {name for name, _ in headers}
        headers += [pair for pair in ALWAYS if pair[0] not in there]
        headers.append(("X-Request-Id", request_id))
        headers += environ.get(RATE_HEADERS, ())
        if environ["PATH_INFO"].startswith("/v1"):
            headers.append(("Vary", "Origin"))
            if "HTTP_ORIGIN" in environ:
                self._grant(environ, headers)

    def _grant(self, environ: Environ, headers: HeaderList) -> None:
        """Let the page read the response if its key lists its origin or no key was checked."""
        origin = environ["HTTP_ORIGIN"]
        granted = environ.get(GRANTED)
        if not (origin in self._origins if granted is None else granted):
            return
        headers.append(("Access-Control-Allow-Origin", origin))
        if environ["REQUEST_METHOD"] == "OPTIONS":
            allowed = next((text for name, text in headers if name == "Allow"), "")
            headers += preflight_headers(allowed)
        else:
            headers.append(("Access-Control-Expose-Headers", SHOWN))

    def _zipped(
        self, environ: Environ, headers: HeaderList, body: Iterable[bytes]
    ) -> Iterable[bytes]:
        """Return the body, compressed if it is long enough and of a compressible type."""
        named = dict(headers)
        kind, length = named.get("Content-Type", ""), int(named.get("Content-Length") or 0)
        if length < self._gzip_from or not kind.startswith(_COMPRESSES):
            return body
        headers.append(("Vary", "Accept-Encoding"))
        head = environ["REQUEST_METHOD"] == "HEAD"
        if head or "Content-Encoding" in named or not _takes_gzip(environ):
            return body
        try:
            whole = gzip.compress(b"".join(body), GZIP_LEVEL, mtime=0)
        finally:
            if hasattr(body, "close"):
                body.close()
        _mark_tag(headers)
        headers[:] = [pair for pair in headers if pair[0] != "Content-Length"]
        headers += [("Content-Length", str(len(whole))), ("Content-Encoding", "gzip")]
        return [whole]


def _takes_gzip(environ: Environ) -> bool:
    takes = environ.get("HTTP_ACCEPT_ENCODING", "")
    return "gzip" in takes and not _NO_GZIP.search(takes)


def _unmark(environ: Environ) -> bool:
    """Remove the compression suffix from entity tags sent; return True if there was any."""
    marked = False
    for name in ("HTTP_IF_MATCH", "HTTP_IF_NONE_MATCH"):
        if name in environ and f'{GZIP_MARK}"' in environ[name]:
            environ[name] = environ[name].replace(f'{GZIP_MARK}"', '"')
            marked = True
    return marked


def _mark_tag(headers: HeaderList) -> None:
    for place, (name, text) in enumerate(headers):
        if name == "ETag" and text.endswith('"'):
            headers[place] = (name, f'{text[:-1]}{GZIP_MARK}"')
