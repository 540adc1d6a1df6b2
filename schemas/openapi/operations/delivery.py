"""The part of the OpenAPI document on events, keys and webhooks."""

from __future__ import annotations

from typing import Any

from apispec import APISpec

from schemas.events.webhooks import REPLAY, WEBHOOK_CHANGE, WEBHOOK_REQUEST
from schemas.keys import KEY_CHANGE, KEY_REQUEST, OVERLAP
from schemas.openapi.operations.records import (
    BODY,
    ONE,
    READS,
    UNCHANGED,
    add_record,
    answers,
    body,
    entry,
)
from schemas.openapi.parts import in_path, in_query, parameters, refusals
from schemas.openapi.shapes import Shape

ONCE = r"""^("([ !#-\[\]-~]|\\["\\]){1,255}"|[A-Za-z0-9._~:/+=@!#$%&'*^`|-]{1,255})$"""
"""A String of RFC 9651, or the same without quotes if no character requires them."""
CHANGED = (400, 401, 403, 404, 409, 412, 428, 503)
DONE = (400, 401, 403, 404, 409, 503)


DELIVERY_PARAMETERS: dict[str, Shape] = {
    "key": in_path("key", "The key's id."),
    "webhook": in_path("webhook", "The webhook's id."),
    "message": in_path("message", "The message's id, as `webhook-id` says it."),
    "event_limit": in_query(
        "limit",
        "How many a page holds at most.",
        {"type": "integer", "minimum": 1, "maximum": 1000, "default": 100},
    ),
    "event_cursor": in_query(
        "cursor", "Where to go on: `next` of an answer before. Left out: from the first event."
    ),
    "event_kind": in_query("kind", "Only events of exactly this kind."),
    "event_subject": in_query("subject_id", "Only events of this one thing."),
    "message_status": in_query(
        "status", "Only such ones.", {"type": "string", "enum": ["pending", "delivered", "failed"]}
    ),
    "message_cursor": in_query("cursor", "`next` of the page before."),
    "idempotency_key": {
        "name": "Idempotency-Key",
        "in": "header",
        "required": False,
        "schema": {"type": "string", "pattern": ONCE},
        "description": "A word of the caller's own for this request. Sent again with the same "
        "address and body it gets the first answer again, also after a crash, and nothing is done "
        "twice; with another body it is refused (422), while it is being worked on too (409).",
    },
}


def add_delivery_requests(spec: APISpec) -> None:
    """Add the request documents to the components."""
    for document in (KEY_REQUEST, KEY_CHANGE, OVERLAP, WEBHOOK_REQUEST, WEBHOOK_CHANGE, REPLAY):
        add_record(spec, document)


def maybe(sent: Shape) -> Shape:
    """Return the same body, made optional."""
    return {**sent, "required": False}


def nothing(doc: str) -> Shape:
    """Return an answer without a body."""
    return {"204": {"description": doc}}


def _events() -> dict[str, Shape]:
    listing = entry(
        "list_events",
        "Events",
        "What changed, in order",
        "A reader that keeps `next` and comes back with it misses nothing and is told nothing "
        "twice, however many write at once. Keys with the scope `admin` see what each thing was "
        "before and after: the same feed is the audit.",
        {**answers("list_events", 200, "Events.", "EventList", "Link"), **refusals(*READS)},
        "event_limit",
        "event_cursor",
        "event_kind",
        "event_subject",
    )
    return {"/v1/events": {"get": listing}}


def _keys() -> dict[str, Shape]:
    def key(name: str, summary: str, doc: str, responses: Shape, *more: str, **sent: Any) -> Shape:
        return entry(name, "Keys", summary, doc, responses, *more, **sent)

    issued = ("KeyIssued", "Location", "ETag")
    return {
        "/v1/keys": {
            "get": key(
                "list_keys",
                "The shop's keys",
                "Also those that are expired or revoked.",
                {**answers("list_keys", 200, "All of them.", "KeyList"), **refusals(*READS)},
            ),
            "post": key(
                "create_key",
                "A new key",
                "Its token is shown in this answer and never again.",
                {
                    **answers("create_key", 201, "Made.", *issued),
                    **refusals(400, 401, 403, 409, *BODY, 503),
                },
                sent=body("create_key", "KeyRequest"),
            ),
        },
        "/v1/keys/{key}": {
            "parameters": parameters("key"),
            "get": key(
                "get_key",
                "One key",
                "Without its secret, which is not stored.",
                {
                    **answers("get_key", 200, "It.", "Key", "ETag"),
                    **UNCHANGED,
                    **refusals(*ONE),
                },
            ),
            "patch": key(
                "change_key",
                "Another name, end, origins or limit",
                "What is left out stays as it is. Scopes never change: make another key.",
                {
                    **answers("change_key", 200, "Changed.", "Key", "ETag"),
                    **refusals(*CHANGED, *BODY),
                },
                sent=body("change_key", "KeyChange"),
            ),
            "delete": key(
                "revoke_key",
                "Put a key out of force at once",
                "An estimate may still be answered within about a second. Needs no `If-Match`: a "
                "key that is lost must go whatever else changed.",
                {**nothing("It is revoked."), **refusals(*ONE)},
            ),
        },
        "/v1/keys/{key}/rotate": {
            "parameters": parameters("key"),
            "post": key(
                "rotate_key",
                "A new key in the place of this one",
                "The new one may do the same; the old one ends after the overlap.",
                {
                    **answers("rotate_key", 201, "Made.", *issued),
                    **refusals(*DONE, *BODY),
                },
                sent=maybe(body("rotate_key", "Overlap")),
            ),
        },
    }


def delivery_paths() -> dict[str, Shape]:
    """Return every path of events and keys."""
    return {**_events(), **_keys()}
