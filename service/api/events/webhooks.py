"""`/v1/webhooks`: where a shop's events are sent, and the result of each message."""

from __future__ import annotations

import re
from typing import Any, cast

from flask import Blueprint, Response, request, url_for

from schemas.events.records import MESSAGE_STATES, Endpoint, MessageState
from schemas.events.webhooks import (
    REPLAY,
    WEBHOOK_CHANGE,
    WEBHOOK_REQUEST,
    WebhookList,
    WebhookMessageList,
    WebhookReplayed,
    WebhookWithSecret,
    message_document,
    message_log_document,
    webhook_document,
)
from schemas.keys import OVERLAP
from schemas.wire.document import read
from schemas.wire.record import extended
from service.api.http.answers import answer
from service.api.http.body import json_body
from service.api.http.conditional import must_match, tagged, unless_seen
from service.api.http.context import only_parameters, principal, wiring
from service.api.http.idempotency import keep, once
from service.api.http.paging import limit, not_a_cursor, one_of, page, parameters
from service.app.events import webhooks
from service.app.events.delivery import HELD
from service.app.events.targets import read_target
from service.domain.errors import BadValue, Conflict, JobRefused, NotFound
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("webhooks", __name__)
PLACE = "/v1/webhooks/<webhook>"
_CURSOR = re.compile(r"[0-9a-f-]{36}", re.ASCII)


@bp.before_request
def _no_such_thing() -> None:
    """A NUL cannot be stored: answer 404."""
    if any("\0" in text for text in (request.view_args or {}).values()):
        raise NotFound("this shop has no such webhook")


@bp.get("/v1/webhooks")
def listed() -> Response:
    """Return all webhooks of the shop, oldest first; there are few."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.reading() as uow:
        found = uow.webhooks.of_shop(asks.shop_id)
    return answer(WebhookList(tuple(webhook_document(each) for each in found), None))


@bp.post("/v1/webhooks")
@once
def create() -> Response:
    """Create a webhook for events from now on; its secret is shown only this once."""
    asks = principal("admin")
    only_parameters()
    wanted = read(WEBHOOK_REQUEST, json_body())
    _check(wanted.url)
    _master()
    wired = wiring()
    with wired.units.writing() as uow:
        principal("admin", uow=uow)
        made = webhooks.create(uow, asks, wanted, wired.new_id(), wired.clock())
        place = url_for("webhooks.one", webhook=made.id)
        shown = _with_secret(uow, made, 201, Location=place)
        uow.commit()
    return shown


@bp.get(PLACE)
def one(webhook: str) -> Response:
    """Return one webhook."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.reading() as uow:
        found = uow.webhooks.by_id(asks.shop_id, webhook)
    return unless_seen(found.version) or _shown(found)


@bp.patch(PLACE)
def change(webhook: str) -> Response:
    """Change the address, the kinds, or pause; omitted fields stay as they are."""
    asks, seen = principal("admin"), must_match()
    only_parameters()
    changes = read(WEBHOOK_CHANGE, json_body())
    if "url" in changes:
        _check(changes["url"])
    with wiring().units.writing() as uow:
        principal("admin", uow=uow)
        now = wiring().clock()
        changed = webhooks.change(uow, asks, webhook, seen.check, changes, now)
        uow.commit()
    return _shown(changed)


@bp.delete(PLACE)
def remove(webhook: str) -> Response:
    """Delete a webhook and its messages; nothing more is sent."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.writing() as uow:
        principal("admin", uow=uow)
        webhooks.remove(uow, asks, webhook, wiring().clock())
        uow.commit()
    return Response(status=204)


@bp.post(f"{PLACE}/rotate-secret")
@once
def rotate(webhook: str) -> Response:
    """Create a new secret; for a while everything is signed with the old one too."""
    asks = principal("admin")
    only_parameters()
    overlap = read(OVERLAP, _optional_body())
    _master()
    with wiring().units.writing() as uow:
        principal("admin", uow=uow)
        made = webhooks.rotate(uow, asks, webhook, overlap, wiring().clock())
        shown = _with_secret(uow, made, 200)
        uow.commit()
    return shown


@bp.post(f"{PLACE}/replay")
@once
def replay(webhook: str) -> Response:
    """Resend every message that failed since an instant."""
    asks = principal("admin")
    only_parameters()
    since = read(REPLAY, json_body())
    with wiring().units.writing() as uow:
        principal("admin", uow=uow)
        found = uow.webhooks.by_id(asks.shop_id, webhook)
        count = uow.webhooks.failed_again(found.id, since, wiring().clock())
        shown = keep(uow, answer(WebhookReplayed(count)))
        uow.commit()
    return shown


@bp.get(f"{PLACE}/messages")
def messages(webhook: str) -> Response:
    """Return sent and pending messages, newest first."""
    asks = principal("admin")
    before = parameters("limit", "cursor", "status").get("cursor")
    if before is not None and not _CURSOR.fullmatch(before):
        raise not_a_cursor()
    state = cast(MessageState | None, one_of("status", MESSAGE_STATES))
    most = limit()
    with wiring().units.reading() as uow:
        found = uow.webhooks.by_id(asks.shop_id, webhook)
        rows = uow.webhooks.messages(found.id, state, most + 1, before)
    shown = [message_document(row) for row in rows[:most]]
    after = rows[most - 1].id if len(rows) > most else None
    return page(shown, after, kind=WebhookMessageList)


@bp.get(f"{PLACE}/messages/<message>")
def message(webhook: str, message: str) -> Response:
    """Return one message, with its body and all attempts."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.reading() as uow:
        found = uow.webhooks.by_id(asks.shop_id, webhook)
        row = uow.webhooks.message(found.id, message)
        attempts = uow.webhooks.attempts(row.id)
    return answer(message_log_document(row, attempts))


@bp.post(f"{PLACE}/messages/<message>/replay")
@once
def send_again(webhook: str, message: str) -> Response:
    """Resend one message, whatever its state; one that is waiting for a retry goes now."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.writing() as uow:
        principal("admin", uow=uow)
        found = uow.webhooks.by_id(asks.shop_id, webhook)
        row = uow.webhooks.message(found.id, message)
        now = wiring().clock()
        uow.webhooks.again(found.id, row.id, now, now + HELD)
        shown = keep(uow, answer(message_document(uow.webhooks.message(found.id, row.id))))
        uow.commit()
    return shown


def _optional_body() -> Any:
    return json_body() if request.get_data(cache=True) else {}


def _check(url: str) -> None:
    """Check that messages may be sent to this address.

    Raises:
        JobRefused: 422, pointing to the url.
    """
    loopback = wiring().settings.webhook_loopback == "yes"
    try:
        read_target(url, loopback=loopback)
    except BadValue as error:
        raise JobRefused(error.faults()) from error


def _master() -> str:
    """Return the secret from which all others are derived.

    Raises:
        Conflict: the operator has set none.
    """
    master = wiring().settings.webhook_secret
    if not master:
        raise Conflict("webhooks are not set up on this service; ask whoever runs it")
    return master


def _with_secret(uow: UnitOfWork, endpoint: Endpoint, status: int, **headers: str) -> Response:
    """Return the only answer that shows a secret; it is stored encrypted for repetition."""
    secret = webhooks.secret_of(_master(), endpoint.id, endpoint.generation)
    document = extended(webhook_document(endpoint), WebhookWithSecret, secret=secret)
    more = {**tagged(endpoint.version), "Cache-Control": "no-store", **headers}
    return keep(uow, answer(document, status, more), secret=secret)


def _shown(endpoint: Endpoint) -> Response:
    return answer(webhook_document(endpoint), headers=tagged(endpoint.version))
