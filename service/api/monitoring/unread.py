"""Refusals of what never became a request: not HTTP, too long, too slow. Raw bytes.

The application does not see these, so they are counted and logged here; see
`service.cli.serve.worker`.
"""

from __future__ import annotations

import logging
from http import HTTPStatus
from random import getrandbits

import orjson
from gunicorn.asgi import parser as by_callbacks  # type: ignore[import-untyped]
from gunicorn.http import errors  # type: ignore[import-untyped]

from schemas.wire.problems import TITLES, TYPE
from service.api.http.edge import ALWAYS
from service.api.http.problems import CONTENT_TYPE
from service.api.monitoring.metrics import figures
from service.api.monitoring.watching import NO_ROUTE
from service.logs import FIELDS

_log = logging.getLogger("framing_quotes.requests")
_CHUNKS = "the chunks of the body cannot be read; send it with Content-Length"
_REFUSALS: tuple[tuple[tuple[type[BaseException], ...], HTTPStatus, str, str], ...] = (
    (
        (TimeoutError,),
        HTTPStatus.REQUEST_TIMEOUT,
        "too_slow",
        "the request did not come in time; send it again, all at once",
    ),
    (
        (errors.LimitRequestLine, by_callbacks.LimitRequestLine),
        HTTPStatus.REQUEST_URI_TOO_LONG,
        "head_too_large",
        "the address is longer than any of this service",
    ),
    (
        (errors.LimitRequestHeaders, by_callbacks.LimitRequestHeaders),
        HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE,
        "head_too_large",
        "there are more headers, or longer ones, than are read",
    ),
    (
        (errors.ExpectationFailed,),
        HTTPStatus.EXPECTATION_FAILED,
        "bad_request",
        "Expect takes 100-continue and nothing else",
    ),
    (
        (errors.UnsupportedTransferCoding,),
        HTTPStatus.NOT_IMPLEMENTED,
        "bad_request",
        "Transfer-Encoding takes chunked and nothing else",
    ),
    (
        (errors.InvalidHTTPVersion,),
        HTTPStatus.HTTP_VERSION_NOT_SUPPORTED,
        "bad_request",
        "this service speaks HTTP/1.1",
    ),
    (
        (
            by_callbacks.InvalidChunkSize,
            by_callbacks.InvalidChunkExtension,
            by_callbacks.ChunkMissingTerminator,
        ),
        HTTPStatus.BAD_REQUEST,
        "bad_request",
        _CHUNKS,
    ),
    (
        (errors.InvalidHeader, errors.InvalidHeaderName, errors.ObsoleteFolding),
        HTTPStatus.BAD_REQUEST,
        "bad_request",
        "a header cannot be read",
    ),
    (
        (errors.ParseException, errors.NoMoreData, by_callbacks.ParseError, StopIteration),
        HTTPStatus.BAD_REQUEST,
        "bad_request",
        "this is not an HTTP request that can be read",
    ),
)


def refusal(error: BaseException) -> bytes:
    """Return the whole answer to an unparsable request, after which the connection closes."""
    for kinds, status, code, detail in _REFUSALS:
        if isinstance(error, kinds):
            return _answer(status, code, detail)
    detail = "something went wrong here; it has been noted"
    return _answer(HTTPStatus.INTERNAL_SERVER_ERROR, "failed", detail)


def _answer(status: HTTPStatus, code: str, detail: str) -> bytes:
    request_id = f"{getrandbits(64):016x}"  # nosec B311: no secret
    body = orjson.dumps(
        {"type": TYPE + code, "title": TITLES[code], "status": int(status), "detail": detail}
    )
    headers = (
        ("Content-Type", CONTENT_TYPE),
        ("Content-Length", str(len(body))),
        ("Connection", "close"),
        *ALWAYS,
        ("X-Request-Id", request_id),
    )
    _tell(status, request_id)
    lines = "".join(f"{name}: {value}\r\n" for name, value in headers)
    return f"HTTP/1.1 {status.value} {status.phrase}\r\n{lines}\r\n".encode("ascii") + body


def _tell(status: HTTPStatus, request_id: str) -> None:
    figures().count("other", NO_ROUTE, str(status.value), 0)
    level = logging.ERROR if status >= 500 and status is not HTTPStatus.NOT_IMPLEMENTED else 20
    _log.log(level, "not read", extra={FIELDS: {"request": request_id, "status": status.value}})
