"""Changes that do not overwrite each other: `ETag`, `If-Match`, `If-None-Match` (RFC 9110, 13).

What can change has a version, a whole number that grows with every change. Its entity tag is that
number, and strong: two answers of one version come from the same state, whatever a key may see of
it. Whoever changes something says which version was seen. Without that word a change is refused
(428, RFC 6585), with an old one it is refused too (412), so that of two writers the second is told
and nothing is lost.

    seen = must_match()
    with wiring().units.writing() as uow:
        record = …
        seen.check(record.version)
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
    """The entity tag of a version, as it stands in a header: "3"."""
    return f'"{version}"'


@dataclass(frozen=True, slots=True)
class Seen:
    """The versions that a request says it has seen; `*` is any that is there."""

    tags: ETags

    def check(self, version: int) -> int:
        """Go on only if `version` is one of them, and return it.

        Raises:
            Stale: it is not: somebody changed it meanwhile.
        """
        if not self.tags.contains(str(version)):
            raise stale()
        return version


def must_match() -> Seen:
    """What a changing request says it has seen.

    Raises:
        RequestRefused: 428 where it says nothing.
    """
    if "If-Match" not in request.headers:
        raise RequestRefused(
            HTTPStatus.PRECONDITION_REQUIRED,
            "precondition_required",
            "say which version you are changing: send its ETag as If-Match",
        )
    return Seen(request.if_match)


def stale() -> Stale:
    """The refusal of a change of something that is another by now."""
    return Stale(
        "this has changed since it was read; read it again, look at the change, and send yours "
        "with the new ETag"
    )


def unless_seen(version: int) -> Response | None:
    """The answer 304 where the caller has this version already (weak comparison), else None."""
    if not request.if_none_match.contains_weak(str(version)):
        return None
    return Response(status=HTTPStatus.NOT_MODIFIED, headers=tagged(version))


def tagged(version: int) -> dict[str, str]:
    """The headers of an answer that shows this version; it may be kept, but is asked for anew."""
    return {"ETag": etag(version), "Cache-Control": "private, no-cache"}
