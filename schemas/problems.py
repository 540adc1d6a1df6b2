"""The kinds of problems that answers tell of: their types, HTTP statuses and meanings.

A type never changes its meaning, and none is ever taken away. It is a tag URI (RFC 4151): a stable
name that promises no page to look at.
"""

from __future__ import annotations

from dataclasses import dataclass

TYPE = "tag:framing-quotes,2026:problem:"


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of problem: the end of its type, the statuses it comes with, and when it comes."""

    code: str
    statuses: tuple[int, ...]
    when: str


KINDS = (
    Kind("bad_request", (400,), "the request is not HTTP that can be read"),
    Kind("bad_parameter", (400,), "a query parameter is not known, or makes no sense"),
    Kind("not_json", (400, 415), "the body is not JSON, or does not say that it is"),
    Kind("not_known", (401,), "there is no key, or none that is in force"),
    Kind("not_allowed", (403,), "the key has none of the scopes that this takes"),
    Kind("not_found", (404,), "there is no such thing, or it belongs to another shop"),
    Kind("method_not_allowed", (405,), "the address does not take this method; `Allow` says which"),
    Kind("not_priced", (409,), "the shop has no price list in force, or no labour standard yet"),
    Kind("body_too_large", (413,), "the body is larger than this service reads"),
    Kind("job_refused", (422,), "the document does not make sense; `errors` names every fault"),
    Kind("failed", (500,), "something went wrong in the service; nothing was stored"),
    Kind("unavailable", (503,), "the database cannot be reached; nothing was stored"),
    Kind("not_ready", (503,), "the service cannot do its work yet"),
)
