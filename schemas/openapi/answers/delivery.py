"""The shapes of answers on events, keys and webhooks, as JSON Schema."""

from __future__ import annotations

from schemas.events.records import ENDPOINT_STATES, MESSAGE_STATES
from schemas.keys import SCOPES
from schemas.openapi.shapes import (
    INSTANT,
    NEXT,
    Shape,
    growing,
    listed,
    one_of,
    ref,
    text,
    thing,
    truth,
    whole,
)

KEY_STATES = ("in_force", "expired", "revoked")


def _at(said: str) -> Shape:
    return {**INSTANT, "description": said}


def _maybe(said: str) -> Shape:
    return {"type": ["string", "null"], "format": "date-time", "description": said}


def _texts(said: str) -> Shape:
    return {"type": "array", "items": {"type": "string"}, "description": said}


def _facts(said: str) -> Shape:
    return {"type": ["object", "null"], "additionalProperties": True, "description": said}


EVENT = thing(
    "Something that changed.",
    {
        "id": text("The event's own number, as text; it is not the order of the feed."),
        "at": _at("When."),
        "kind": text("What happened: a dotted word, such as quote.created. More kinds may come."),
        "subject": text("What kind of thing changed, such as quote."),
        "subject_id": text("Which one."),
        "key": text("The id of the key that did it; `system` for a command of the service's own."),
    },
    {
        "before": _facts("What it was, for keys with the scope `admin`; null where it was not."),
        "after": _facts("What it is now, for keys with the scope `admin`; null where it is gone."),
    },
)
KEY = {
    "id": text("The key's id; the middle part of its token."),
    "name": text("What it is for."),
    "status": one_of(KEY_STATES, "Whether it counts now."),
    "scopes": listed(growing(SCOPES, "A scope."), "What it may do."),
    "origins": _texts("The origins whose pages may use it; none for a key of servers."),
    "per_minute": {
        "type": ["integer", "null"],
        "minimum": 1,
        "description": "Requests a minute that it may send; null for as many as is usual here.",
    },
    "created_at": _at("When it was made."),
    "expires_at": _maybe("From when on it does not count; null for never."),
    "revoked_at": _maybe("When it was revoked; null where it was not."),
    "last_used_at": _maybe("When it was last used, to about an hour; null for never."),
}
WEBHOOK = {
    "id": {"type": "string", "format": "uuid", "description": "The webhook's id."},
    "url": text("Where it is sent."),
    "kinds": _texts("The kinds of events that are sent; none for all."),
    "description": text("What it is for."),
    "status": one_of(
        ENDPOINT_STATES,
        "`paused`: nothing is sent until it is active again, and then all of it. `gone`: the other "
        "side answered 410.",
    ),
    "created_at": _at("From when on events are sent."),
    "former_secret_until": _maybe("Until when the secret before this one is signed with too."),
}
MESSAGE = {
    "id": {"type": "string", "format": "uuid", "description": "What `webhook-id` says."},
    "event": text("The number of the event."),
    "kind": text("The kind of the event."),
    "status": one_of(MESSAGE_STATES, "What came of it so far."),
    "attempts": whole("How often it was tried."),
    "created_at": _at("When it was queued."),
    "next_attempt_at": _maybe("When it is tried next; null where it is not."),
    "delivered_at": _maybe("When the other side took it."),
}
ATTEMPT = thing(
    "One attempt.",
    {
        "number": whole("Its number, from 1.", 1),
        "at": _at("When it was over."),
        "answer_status": {
            "type": ["integer", "null"],
            "description": "The status of the answer; null where there was none.",
        },
        "error": text("What went wrong before there was an answer; empty where nothing did."),
        "milliseconds": whole("How long it took."),
    },
)
DELIVERY_ANSWERS: dict[str, Shape] = {
    "Event": EVENT,
    "EventList": thing(
        "Events in the order of the feed, oldest first.",
        {
            "items": listed(ref("Event"), "The events."),
            "next": text("The cursor to go on with, now or later; always there."),
            "more": truth(
                "Whether there may be more already, also behind an empty page of one kind."
            ),
        },
    ),
    "Key": thing("An API key, without its secret.", KEY),
    "KeyIssued": thing(
        "A key that was just made.",
        {**KEY, "token": text("What is sent as `Authorization: Bearer …`; shown this once.")},
    ),
    "KeyList": thing(
        "All keys of a shop, oldest first.",
        {"items": listed(ref("Key"), "The keys."), "next": NEXT},
    ),
    "Webhook": thing("A webhook, without its secret.", WEBHOOK),
    "WebhookWithSecret": thing(
        "A webhook with a secret that was just made.",
        {
            **WEBHOOK,
            "secret": text("What messages are signed with (Standard Webhooks); shown this once."),
        },
    ),
    "WebhookList": thing(
        "All webhooks of a shop, oldest first.",
        {"items": listed(ref("Webhook"), "The webhooks."), "next": NEXT},
    ),
    "WebhookMessage": thing("A message, as the log lists it.", MESSAGE),
    "WebhookMessageList": thing(
        "Messages, newest first.",
        {"items": listed(ref("WebhookMessage"), "The messages."), "next": NEXT},
    ),
    "WebhookAttempt": ATTEMPT,
    "WebhookMessageLog": thing(
        "A message with its body and everything that was tried.",
        {
            **MESSAGE,
            "body": ref("WebhookBody", "What is sent, byte for byte."),
            "log": listed(ref("WebhookAttempt"), "Every attempt, in order."),
        },
    ),
    "WebhookBody": thing(
        "What is sent: thin, so that whoever wants more asks for it with a key.",
        {
            "type": text("The kind of the event."),
            "timestamp": _at("When it happened."),
            "data": thing(
                "What it is about.",
                {
                    "event": text("The number of the event."),
                    "subject": text("What kind of thing changed."),
                    "id": text("Which one."),
                },
            ),
        },
    ),
    "WebhookReplayed": thing(
        "What is sent anew.", {"messages": whole("How many messages it are.")}
    ),
}
