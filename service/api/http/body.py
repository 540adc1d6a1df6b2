"""Reading a JSON body: strictly, numbers as decimals, and never with a stack trace.

Python's reader accepts NaN, reads 16.375 as a binary float, lets the last of two equal names win
and fails on deep nesting with an error of its own; here all of these are handled.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import partial
from http import HTTPStatus
from typing import Any, NoReturn

from flask import request

from schemas.wire.document import Document, read
from service.api.http.problems import RequestRefused

JSON_TYPES = ("application/json", "text/json")
WITH_BODY = ("POST", "PUT", "PATCH")
MOST_DIGITS = 400


def check_coding() -> None:
    """Refuse a compressed body.

    Raises:
        RequestRefused: 415, naming what is accepted (RFC 9110, 12.5.3 and 15.5.16).
    """
    coding: str = request.environ.get("HTTP_CONTENT_ENCODING", "")
    if request.method in WITH_BODY and coding.strip().lower() not in ("", "identity"):
        raise RequestRefused(
            HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
            "coding_not_read",
            f"a body is read as it is; send it without Content-Encoding: {coding[:40]}",
            headers={"Accept-Encoding": "identity"},
        )


def _json_bytes() -> bytes:
    """Return the body of a request whose content type is JSON.

    Raises:
        RequestRefused: 415 for another content type.
    """
    if not _says_json():
        raise RequestRefused(
            HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
            "not_json",
            "send the document as JSON, with Content-Type: application/json",
            headers={"Accept": "application/json"},
        )
    return request.get_data(cache=False)


def _says_json() -> bool:
    if request.environ.get("CONTENT_TYPE") == "application/json":
        return True  # the usual spelling, which needs no parsing
    return request.mimetype in JSON_TYPES or request.mimetype.endswith("+json")


def read_json(body: bytes) -> Any:
    """Return a document from its bytes, with numbers as int or Decimal.

    Raises:
        RequestRefused: 400, with the position where it stops being JSON.
    """
    try:
        return _DECODER.decode(body.decode("utf-8"))
    except UnicodeDecodeError:
        raise _not_json("the body is not UTF-8 text") from None
    except json.JSONDecodeError as error:
        raise _not_json(
            f"this is not JSON: {error.msg} at line {error.lineno}, column {error.colno}"
        ) from None
    except RecursionError:
        raise _not_json("the document is nested deeper than any job is") from None
    except (ValueError, InvalidOperation):
        raise _not_json("a number in the document is longer than any measure") from None


def _not_json(detail: str) -> RequestRefused:
    return RequestRefused(HTTPStatus.BAD_REQUEST, "not_json", detail)


def _no_constant(name: str) -> NoReturn:
    raise _not_json(f"{name} is not a number in JSON")


def _each_name_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    document = dict(pairs)
    if len(document) != len(pairs):
        raise _not_json(f'"{_twice(pairs)[:40]}" stands twice in one group; which is meant?')
    return document


def _twice(pairs: list[tuple[str, Any]]) -> str:
    """Return the first repeated name, in linear time."""
    seen: set[str] = set()
    for name, _ in pairs:
        if name in seen:
            return name
        seen.add(name)
    raise AssertionError("every name stands here once")


def _decimal(text: str) -> Decimal:
    if len(text) > MOST_DIGITS:
        raise _not_json("a number in the document is longer than any measure")
    return Decimal(text)


_DECODER = json.JSONDecoder(
    parse_float=_decimal, parse_constant=_no_constant, object_pairs_hook=_each_name_once
)


@dataclass(frozen=True, slots=True)
class Body:
    """The body that a route takes.

    Attributes:
        name: its schema among the components of the contract.
        reads: returns the content of a document. Without it, `Call.body` is the JSON value, for a
            view that needs more to read it, such as the shop's unit.
        optional: an empty body means a document without fields.
        media: its media type; a body that is not JSON is left to the view.
    """

    name: str
    reads: Callable[[Any], Any] | None = None
    optional: bool = False
    media: str = JSON_TYPES[0]

    def sent(self) -> tuple[Any, bytes]:
        """Return the content of the request's body, and its bytes.

        Raises:
            RequestRefused: 415 for another content type, 400 for what is not JSON.
            JobRefused: it has an unknown or invalid field.
        """
        if self.media != JSON_TYPES[0]:
            return None, b""
        if self.optional and not request.get_data(cache=True):
            raw, document = b"", {}
        else:
            raw = _json_bytes()
            document = read_json(raw)
        return document if self.reads is None else self.reads(document), raw


def body_of(schema: Document, *, optional: bool = False) -> Body:
    """Return the body that a schema reads."""
    return Body(type(schema).__name__.removesuffix("Document"), partial(read, schema), optional)
