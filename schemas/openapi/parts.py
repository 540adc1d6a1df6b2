"""The parts of the OpenAPI document that operations share: parameters, answers, headers, keys."""

from __future__ import annotations

from typing import Any

from schemas.openapi.examples import problem_examples
from schemas.quotes.records import QuoteFilter
from schemas.wire.problems import KINDS, TYPE
from service.domain.quotes.life import STATUSES

Shape = dict[str, Any]
PROBLEM_TYPE = "application/problem+json"

MOMENT: Shape = {
    "anyOf": [{"type": "string", "format": "date-time"}, {"type": "string", "format": "date"}],
    "examples": ["2026-11-25T18:00:00Z", "2026-11-25"],
}
_MOMENT_IS = "an instant with its offset, or a day, which is its first moment in the shop"
STRING: Shape = {"type": "string"}


def in_path(name: str, doc: str, schema: Shape = STRING) -> Shape:
    """Return a parameter that is a part of the path."""
    return {"name": name, "in": "path", "required": True, "schema": schema, "description": doc}


def in_query(name: str, doc: str, schema: Shape = STRING) -> Shape:
    """Return a query parameter; none has to be given."""
    return {"name": name, "in": "query", "required": False, "schema": schema, "description": doc}


PARAMETERS: dict[str, Shape] = {
    "quote_id": in_path(
        "quote_id",
        "The quote's `id`, or its `number`. A number is read as people write it: "
        "spaces, lower case and the letter O for 0 are put right, and one that was misread is "
        "refused by its check digit, so that it does not find another quote.",
    ),
    "limit": in_query(
        "limit",
        "How many a page holds at most.",
        {"type": "integer", "minimum": 1, "maximum": 200, "default": 50},
    ),
    "cursor": in_query(
        "cursor", "Where the page starts: `next` of the page before. It means nothing by itself."
    ),
    "status": in_query(
        "status", "Only quotes in this state.", {"type": "string", "enum": list(STATUSES)}
    ),
    "reference": in_query("reference", "Only quotes with exactly this reference."),
    "updated_since": in_query(
        "updated_since",
        f"Only quotes that changed at or after this: {_MOMENT_IS}. "
        "Given `until` of an answer before, no change is missed.",
        MOMENT,
    ),
    "created_from": in_query(
        "created_from", f"Only quotes stored at or after this: {_MOMENT_IS}.", MOMENT
    ),
    "created_to": in_query(
        "created_to",
        f"Only quotes stored before this, which is itself left out: {_MOMENT_IS}.",
        MOMENT,
    ),
    "q": in_query(
        "q",
        "Only quotes in which every word of this is part of a word of the number, the reference, "
        "the customer's name or a job's label (of the latest revision). Case and accents do not "
        "count. Two letters or digits at least; single letters beside longer words do not count.",
    ),
}
LIST_PARAMETERS = ("limit", "cursor", *QuoteFilter.__slots__)


def _header(doc: str, example: str) -> Shape:
    return {"description": doc, "schema": {"type": "string"}, "example": example}


HEADERS: dict[str, Shape] = {
    "ETag": _header(
        "The version of what is shown (RFC 9110); to be sent as `If-Match` with a change.", '"3"'
    ),
    "Location": {
        "description": "Where the quote is from now on.",
        "schema": {"type": "string", "format": "uri-reference"},
    },
    "Link": _header(
        "The next page, where there is one (RFC 8288).", '</v1/quotes?cursor=…>; rel="next"'
    ),
    "WWW-Authenticate": _header("How to send a key (RFC 9110).", "Bearer"),
    "Retry-After": {
        "description": "After how many seconds to try again (RFC 9110).",
        "schema": {"type": "integer", "minimum": 0},
    },
    "RateLimit-Policy": _header("How many requests a key may send.", '"key";q=6000;w=60'),
    "RateLimit": _header(
        "How many are left, and in how many seconds all are back.", '"key";r=5999;t=1'
    ),
    "Accept": _header("What this address reads (RFC 9110).", "application/json"),
}
SECURITY: dict[str, Shape] = {
    "key": {
        "type": "http",
        "scheme": "bearer",
        "bearerFormat": "fq_<key id>_<secret>",
        "description": "A key belongs to one shop and has one or more scopes: `price` for public "
        "forms, `counter` for the shop's counter, `bench`, `reports`, and `admin`, which may do "
        "all that the others may. What another shop has does not exist for it.",
    }
}


def scopes(*any_of: str) -> list[Shape]:
    """Return a security requirement met by a key with any of these scopes."""
    return [{"key": [scope]} for scope in any_of]


REFUSALS: dict[int, tuple[str, str, tuple[str, ...]]] = {
    400: ("BadRequest", "The request cannot be read; nothing was done.", ()),
    401: ("NotKnown", "No key, or none in force.", ("WWW-Authenticate",)),
    403: ("NotAllowed", "The key has none of the scopes that this takes.", ()),
    404: ("NotFound", "There is no such thing, or it belongs to another shop.", ()),
    406: ("NotAcceptable", "It is not to be had in any form that `Accept` names.", ()),
    409: (
        "Conflict",
        "It does not go with what is there: a code is taken, the shop cannot price it yet, this "
        "release cannot explain it; `type` and `detail` say which.",
        (),
    ),
    412: ("Stale", "It has changed since it was read; nothing was done.", ()),
    413: ("BodyTooLarge", "The body is larger than this service reads (1 MiB as set up).", ()),
    415: ("NotJson", "The body does not say that it is JSON, or it is compressed.", ("Accept",)),
    422: (
        "JobRefused",
        "The document does not make sense; every fault stands in `errors` with its pointer, up to "
        "a hundred. Nothing was stored.",
        (),
    ),
    428: ("PreconditionRequired", "`If-Match` is missing; nothing was done.", ()),
    429: (
        "TooManyRequests",
        "The key has sent as many requests as it may; nothing was done.",
        ("Retry-After", "RateLimit-Policy", "RateLimit"),
    ),
    500: ("Failed", "Something went wrong in the service; nothing was stored.", ()),
    503: ("Unavailable", "The service cannot do its work just now; try again.", ("Retry-After",)),
}
"""By status: the name of the answer among the components, its meaning, and its headers."""


def refusal_answers() -> dict[str, Shape]:
    """Return every answer that is a problem document, by name."""
    return {name: _refusal(status) for status, (name, _, _) in REFUSALS.items()}


def _refusal(status: int) -> Shape:
    _, doc, headers = REFUSALS[status]
    media: Shape = {"schema": {"$ref": "#/components/schemas/Problem"}}
    if examples := problem_examples(status):
        media["examples"] = examples
    answer: Shape = {"description": doc, "content": {PROBLEM_TYPE: media}}
    if headers:
        answer["headers"] = header_refs(*headers)
    return answer


def parameters(*names: str) -> list[Shape]:
    """Return parameters of an operation, by the names of their components."""
    return [{"$ref": f"#/components/parameters/{name}"} for name in names]


def header_refs(*names: str) -> Shape:
    """Return the headers of an answer."""
    return {name: {"$ref": f"#/components/headers/{name}"} for name in names}


def refusals(*statuses: int) -> Shape:
    """Return the problem answers of an operation; 500 always, 429 if it takes a key."""
    always = (429, 500) if 401 in statuses else (500,)
    return {
        str(status): {"$ref": f"#/components/responses/{REFUSALS[status][0]}"}
        for status in (*statuses, *always)
    }


def problem_table() -> str:
    """Return the types of problems as a table in Markdown."""
    rows = (f"| `{TYPE}{k.code}` | {_statuses(k.statuses)} | {k.when} |" for k in KINDS)
    return "\n".join(("| type | status | when |", "|---|---|---|", *rows))


def _statuses(statuses: tuple[int, ...]) -> str:
    return ", ".join(str(status) for status in statuses)
