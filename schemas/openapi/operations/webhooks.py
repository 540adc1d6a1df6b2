"""The part of the OpenAPI document on webhooks."""

from __future__ import annotations

from typing import Any

from schemas.openapi.operations.delivery import CHANGED, DONE, maybe, nothing
from schemas.openapi.operations.records import BODY, ONE, READS, UNCHANGED, answers, body, entry
from schemas.openapi.parts import parameters, refusals
from schemas.openapi.shapes import Shape, ref

ONE_PLACE = "/v1/webhooks/{webhook}"


def _hook(name: str, summary: str, doc: str, responses: Shape, *more: str, **sent: Any) -> Shape:
    return entry(name, "Webhooks", summary, doc, responses, *more, **sent)


def _all() -> Shape:
    return {
        "get": _hook(
            "list_webhooks",
            "The shop's webhooks",
            "All of them; they are few.",
            {**answers("list_webhooks", 200, "They.", "WebhookList"), **refusals(*READS)},
        ),
        "post": _hook(
            "create_webhook",
            "A new webhook",
            "Every event from now on is sent there, signed by the Standard Webhooks specification, "
            "and tried again for about three days. Its secret is shown in this answer and never "
            "again.",
            {
                **answers("create_webhook", 201, "Kept.", "WebhookWithSecret", "Location", "ETag"),
                **refusals(400, 401, 403, 409, *BODY, 503),
            },
            sent=body("create_webhook", "WebhookRequest"),
        ),
    }


def _one() -> Shape:
    return {
        "parameters": parameters("webhook"),
        "get": _hook(
            "get_webhook",
            "One webhook",
            "Without its secret.",
            {
                **answers("get_webhook", 200, "It.", "Webhook", "ETag"),
                **UNCHANGED,
                **refusals(*ONE),
            },
        ),
        "patch": _hook(
            "change_webhook",
            "Another address, other kinds, a pause",
            "What is left out stays as it is.",
            {
                **answers("change_webhook", 200, "Changed.", "Webhook", "ETag"),
                **refusals(*CHANGED, *BODY),
            },
            sent=body("change_webhook", "WebhookChange"),
        ),
        "delete": _hook(
            "remove_webhook",
            "Forget a webhook and its messages",
            "Nothing more is sent, not even what was queued.",
            {**nothing("It is gone."), **refusals(*ONE)},
        ),
    }


def _rotate() -> Shape:
    return _hook(
        "rotate_webhook_secret",
        "A new secret",
        "Until the overlap is over every message is signed with both.",
        {
            **answers("rotate_webhook_secret", 200, "It.", "WebhookWithSecret", "ETag"),
            **refusals(*DONE, 412, *BODY),
        },
        sent=maybe(body("rotate_webhook_secret", "Overlap")),
    )


def _replay() -> Shape:
    return _hook(
        "replay_webhook",
        "Send what failed anew",
        "Every failed message since an instant.",
        {
            **answers("replay_webhook", 200, "Queued.", "WebhookReplayed"),
            **refusals(*DONE, *BODY),
        },
        sent=body("replay_webhook", "Replay"),
    )


def _messages() -> dict[str, Shape]:
    place = f"{ONE_PLACE}/messages"
    one = f"{place}/{{message}}"
    return {
        place: {
            "parameters": parameters("webhook"),
            "get": _hook(
                "list_webhook_messages",
                "What was sent or is to be",
                "Newest first; kept for thirty days.",
                {
                    **answers(
                        "list_webhook_messages", 200, "A page.", "WebhookMessageList", "Link"
                    ),
                    **refusals(*ONE),
                },
                "limit",
                "message_cursor",
                "message_status",
            ),
        },
        one: {
            "parameters": parameters("webhook", "message"),
            "get": _hook(
                "get_webhook_message",
                "One message, and everything that was tried",
                "The log of its delivery.",
                {
                    **answers("get_webhook_message", 200, "It.", "WebhookMessageLog"),
                    **refusals(*ONE),
                },
            ),
        },
        f"{one}/replay": {
            "parameters": parameters("webhook", "message"),
            "post": _hook(
                "replay_webhook_message",
                "Send one message anew",
                "Under the same `webhook-id`, whatever came of it before.",
                {
                    **answers("replay_webhook_message", 200, "Queued.", "WebhookMessage"),
                    **refusals(*DONE, 422),
                },
            ),
        },
    }


def sent_to_webhooks() -> dict[str, Shape]:
    """Return what the service sends to the address of a webhook (`webhooks` of OpenAPI 3.1)."""
    text: Shape = {"type": "string"}
    message: Shape = {
        "type": "quote.created",
        "timestamp": "2026-11-25T15:00:00.000000Z",
        "data": {"event": "12", "subject": "quote", "id": "018f3c3e-7d5b-7a36-9d3c-2a6f5f4c8e01"},
    }
    header = {"in": "header", "required": True, "schema": text}
    return {
        "event": {
            "post": {
                "operationId": "receive_event",
                "tags": ["Webhooks"],
                "summary": "An event",
                "description": "Sent for every event of the kinds that the webhook asks for, in "
                "the order of the feed at first, and signed as the Standard Webhooks specification "
                "says. A message may arrive more than once: its `webhook-id` stays the same. Any "
                "2xx answer accepts it. Any other answer, or none within twenty seconds, is "
                "followed by further attempts over about three days; 410 ends all sending to this "
                "webhook.",
                "security": [],
                "parameters": [
                    {**header, "name": "webhook-id", "description": "The id of the message."},
                    {
                        **header,
                        "name": "webhook-timestamp",
                        "description": "When this attempt was made, in seconds since 1970. Refuse "
                        "a message whose timestamp is old.",
                    },
                    {
                        **header,
                        "name": "webhook-signature",
                        "description": "One signature for each secret in force, separated by "
                        "spaces: `v1,` and the Base64 of the HMAC-SHA256 of id, timestamp and "
                        "body, joined by full stops. One that matches is enough.",
                    },
                ],
                "requestBody": {
                    "required": True,
                    "content": {
                        "application/json": {
                            "schema": ref("WebhookBody"),
                            "examples": {"quote_created": {"value": message}},
                        }
                    },
                },
                "responses": {
                    "2XX": {"description": "The message is accepted."},
                    "410": {"description": "Nothing more is to be sent to this address."},
                    "default": {"description": "The message is sent again later."},
                },
            }
        }
    }


def webhook_paths() -> dict[str, Shape]:
    """Return every path of webhooks."""
    return {
        "/v1/webhooks": _all(),
        ONE_PLACE: _one(),
        f"{ONE_PLACE}/rotate-secret": {"parameters": parameters("webhook"), "post": _rotate()},
        f"{ONE_PLACE}/replay": {"parameters": parameters("webhook"), "post": _replay()},
        **_messages(),
    }
