"""Answers as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Response
from werkzeug.datastructures import Headers

from schemas.wire.figures import written


class Answer(Response):
    """A response whose headers go out unchanged.

    Its length is known and its locations are paths of this service, so its headers need no further
    processing.
    """

    def get_wsgi_headers(self, environ: Any) -> Headers:
        """Return the headers."""
        return self.headers


def answer(
    document: object, status: int = 200, headers: Mapping[str, str] | None = None
) -> Response:
    """Return a document as a JSON response; bytes are taken to be JSON already."""
    body = document if isinstance(document, bytes) else written(document)
    made = Answer(body, status, content_type="application/json")
    made.headers["Content-Length"] = str(len(body))
    if headers:
        made.headers.update(headers)
    return made
