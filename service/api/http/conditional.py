"""Optimistic concurrency: `ETag`, `If-Match`, `If-None-Match` (RFC 9110, 13).

Anything that can change has a version, an integer that grows with every change. Its entity tag is
that number, and strong: two answers of one version come from the same state, whatever a key may see
of it. A change must name the version that was seen. Without one it is refused (428, RFC 6585), with
an old one too (412), so that of two writers the second is told and nothing is lost.

    @Operation(scopes=("counter",), if_match=True)
    def change(call: Call) -> Response:
        with wiring().units.writing() as uow:
            record = …
            call.if_match.check(record.version)
            … set … where version = record.version …
"""

from __future__ import annotations

from dataclasses import dataclass
from http import HTTPStatus

from flask import Response, request
from werkzeug.datastructures import ETags

from service.api.http.problems import RequestRefused
from service.domain.errors import Stale


def etag(version: int) -> str:
    """Return the entity tag of a version as in a header: "3"."""
    return f'"{version}"'


@dataclass(frozen=True, slots=True)
class IfMatch:
    """The versions that a request says it has seen; `*` matches any that exists."""

    tags: ETags

    def check(self, version: int) -> int:
        """Check that `version` is one of them, and return it.

        Raises:
            Stale: it is not, since it was changed meanwhile.
        """
        if not self.tags.contains(str(version)):
            raise stale()
        return version


def must_match() -> IfMatch:
    """Return the versions that a request for a change has seen.

    Raises:
        RequestRefused: 428 if it names none.
    """
    if "If-Match" not in request.headers:
        raise RequestRefused(
            HTTPStatus.PRECONDITION_REQUIRED,
            "precondition_required",
            "say which version you are changing: send its ETag as If-Match",
        )
    return IfMatch(request.if_match)


def stale() -> Stale:
    """Return the refusal of a change to something that has changed meanwhile."""
    return Stale(
        "this has changed since it was read; read it again, look at the change, and send yours "
        "with the new ETag"
    )


def unless_seen(version: int) -> Response | None:
    """Return a 304 response if the caller has this version already (weak comparison), else None."""
    if not request.if_none_match.contains_weak(str(version)):
        return None
    return Response(status=HTTPStatus.NOT_MODIFIED, headers=tagged(version))


def tagged(version: int) -> dict[str, str]:
    """Return the headers of an answer with this version.

    It may be cached but must be revalidated.
    """
    return {"ETag": etag(version), "Cache-Control": "private, no-cache"}
