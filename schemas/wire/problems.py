"""The kinds of problems in answers: their types, HTTP statuses and meanings.

A type never changes its meaning, and none is ever removed. It is a tag URI (RFC 4151): a stable
name that does not promise a page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta

from schemas.wire.record import UNSET, Record, Unset, at_least, doc
from schemas.wire.values import Fault

TYPE = "tag:framing-quotes,2026:problem:"


class ProblemFault(Fault):
    """One thing that is wrong, in the document or in the query."""

    parameter: (
        Annotated[
            str,
            doc("The name of the query parameter that is wrong; `pointer` is then empty."),
        ]
        | Unset
    ) = UNSET


class Present(Record):
    """The present state of a record, if it was the reason for a refusal."""

    status: Annotated[str, doc("The present state.")]
    possible: (
        Annotated[
            tuple[Annotated[str, doc("A step.")], ...], doc("The steps that are possible now.")
        ]
        | Unset
    ) = UNSET
    etag: Annotated[str, doc("The present entity tag.")] | Unset = UNSET


class Problem(Record):
    """Why a request was refused (RFC 9457)."""

    type: Annotated[
        str,
        doc(
            "The kind of problem: a stable name for programs. The description of this document "
            "lists all kinds.",
            format="uri",
        ),
    ]
    title: Annotated[str, doc("The kind of problem, in words.")]
    status: Annotated[int, Meta(ge=400, le=599, description="The HTTP status.")]
    detail: Annotated[str, doc("What happened this time, and what to do.")]
    errors: (
        Annotated[tuple[ProblemFault, ...], doc("Everything that is wrong, each with its place.")]
        | Unset
    ) = UNSET
    present: Present | Unset = UNSET


class BulkProblem(Problem, kw_only=True):
    """Why a line was refused: the problem that it would get by itself."""

    line: Annotated[int, at_least(1, "The line of the request that this answers, from 1.")]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of problem: the end of its type, its statuses, its title, and when it occurs."""

    code: str
    statuses: tuple[int, ...]
    title: str
    when: str


KINDS = (
    Kind(
        "bad_request",
        (400, 417, 501, 505),
        "The request cannot be read",
        "it is not HTTP that can be read",
    ),
    Kind(
        "too_slow",
        (408,),
        "The request took too long to come",
        "the request was not there within the time that it may take to be sent",
    ),
    Kind(
        "head_too_large",
        (414, 431),
        "The head of the request is too long",
        "the address (414) or the headers (431) are longer than is read",
    ),
    Kind(
        "bad_parameter",
        (400,),
        "A parameter makes no sense",
        "a query parameter is not known, stands twice, or cannot be read",
    ),
    Kind("bad_header", (400,), "A header makes no sense", "`Idempotency-Key` cannot be read"),
    Kind(
        "not_json",
        (400, 415),
        "This is not JSON",
        "the body is not JSON (400), or does not say that it is (415)",
    ),
    Kind(
        "coding_not_read",
        (415,),
        "This content coding is not read",
        "the body is compressed or otherwise coded, as `Content-Encoding` says",
    ),
    Kind("not_known", (401,), "A key is needed", "there is no key, or none that is in force"),
    Kind(
        "not_allowed",
        (403,),
        "This key may not do that",
        "the key has none of the scopes that this takes",
    ),
    Kind(
        "origin_not_allowed",
        (403,),
        "This key is not for that page",
        "the request came from a page of an origin that the key does not list",
    ),
    Kind(
        "not_found",
        (404,),
        "There is no such thing here",
        "there is no such thing, or it belongs to another shop",
    ),
    Kind(
        "method_not_allowed",
        (405,),
        "This address does not take that method",
        "the address takes other methods; `Allow` names them",
    ),
    Kind(
        "not_priced",
        (409,),
        "The shop has no price for this yet",
        "the shop has no price list in force, or no labour standard in use",
    ),
    Kind(
        "counts_otherwise",
        (409,),
        "This release counts otherwise",
        "no longer sent: a stored quote keeps its figures, whatever a release calculates",
    ),
    Kind(
        "conflict",
        (409,),
        "That does not go with what is there",
        "a code is taken, or what is there is past changing; `detail` says which",
    ),
    Kind(
        "stale",
        (412,),
        "It has changed meanwhile",
        "`If-Match` names another version than the one that is there; nothing was changed",
    ),
    Kind(
        "precondition_required",
        (428,),
        "Say which version you are changing",
        "a change was sent without `If-Match`",
    ),
    Kind(
        "wrong_state",
        (409,),
        "It is in no state for that",
        "a quote, ticket or piece was asked for what its state does not allow; `present` tells the "
        "state and what is possible",
    ),
    Kind(
        "ticket_refused",
        (409,),
        "No ticket can be made of this",
        "a job has an advisory of severity `stop`; `errors` names each with its place",
    ),
    Kind(
        "plan_cancelled",
        (409,),
        "The plan was cancelled",
        "somebody cancelled the cutting plan before it was done",
    ),
    Kind(
        "ticket_not_proved",
        (500,),
        "The ticket did not pass its own check",
        "the cuts of a ticket would not have given what was ordered, a fault of the service; "
        "no ticket was made, and it has been noted",
    ),
    Kind(
        "plan_rejected",
        (500,),
        "The plan did not pass its own check",
        "a cutting plan was not sound, a fault of the service; none was stored, and it has been "
        "noted",
    ),
    Kind(
        "not_acceptable",
        (406,),
        "This is not to be had in that form",
        "`Accept` names no form that the address gives",
    ),
    Kind(
        "still_running",
        (409,),
        "It is being worked on",
        "the request was sent before with this `Idempotency-Key` and is not done; ask again",
    ),
    Kind(
        "key_reused",
        (422,),
        "This key names another request",
        "the `Idempotency-Key` was sent before with another address or body",
    ),
    Kind(
        "too_many_requests",
        (429,),
        "Too many requests",
        "the key has sent as many requests as it may; `Retry-After` tells when there are more",
    ),
    Kind("body_too_large", (413,), "The body is too large", "the body is larger than is read"),
    Kind(
        "job_refused",
        (422,),
        "The document does not make sense",
        "what was sent cannot be framed, or not by this shop; `errors` names every fault",
    ),
    Kind(
        "failed",
        (500,),
        "Something went wrong here",
        "the service failed; nothing was stored, and it has been noted",
    ),
    Kind(
        "unavailable",
        (503,),
        "Try again in a moment",
        "the database cannot be reached; nothing was stored",
    ),
    Kind(
        "outcome_unknown",
        (503,),
        "It is not known whether this was stored",
        "the database was lost while it was storing this, and could not be asked in time; sent "
        "again under its `Idempotency-Key` it is stored once",
    ),
    Kind(
        "not_ready",
        (503,),
        "The service is not ready",
        "the database is away, or not at the level of this release",
    ),
)
TITLES = {kind.code: kind.title for kind in KINDS}
