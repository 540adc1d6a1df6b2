"""Answers as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import orjson
from flask import Response
from werkzeug.datastructures import Headers


class Answer(Response):
    """An answer whose headers go out as they are.

    Its length is known and its places are paths of this service, so nothing in them has to be
    looked through once more.
    """

    def get_wsgi_headers(self, environ: Any) -> Headers:
        """The headers."""
        return self.headers


def answer(
    document: object, status: int = 200, headers: Mapping[str, str] | None = None
) -> Response:
    """A document as JSON; bytes are taken to be JSON already."""
    body = document if isinstance(document, bytes) else orjson.dumps(document)
    made = Answer(body, status, content_type="application/json")
    made.headers["Content-Length"] = str(len(body))
    if headers:
        made.headers.update(headers)
    return made
