"""Answers as JSON."""

from __future__ import annotations

from collections.abc import Mapping

import orjson
from flask import Response


def answer(
    document: object, status: int = 200, headers: Mapping[str, str] | None = None
) -> Response:
    """A document as JSON; bytes are taken to be JSON already."""
    body = document if isinstance(document, bytes) else orjson.dumps(document)
    made = Response(body, status, content_type="application/json")
    if headers:
        made.headers.update(headers)
    return made
