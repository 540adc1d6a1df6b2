"""`/v1/webhooks`: where a shop's events are sent, and the result of each message."""

from __future__ import annotations

import re
from typing import cast

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
from schemas.wire.record import extended
from service.api.http.answers import answer
from service.api.http.body import body_of
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import refuse_nul, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.api.http.paging import limit, not_a_cursor, one_of, page
from service.app.events import webhooks
from service.app.events.delivery import HELD
from service.app.events.targets import read_target
from service.domain.errors import BadValue, Conflict, JobRefused
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("webhooks", __name__)
refuse_nul(bp, "webhook")
ADMIN = ("admin",)
PLACE = "/v1/webhooks/<webhook>"
_CURSOR = re.compile(r"[0-9a-f-]{36}", re.ASCII)


@bp.get("/v1/webhooks")
@Operation(scopes=ADMIN)
def listed(call: Call) -> Response:
    """Return all webhooks of the shop, oldest first; there are few."""
    with wiring().units.reading() as uow:
        found = uow.webhooks.of_shop(call.principal.shop_id)
    return answer(WebhookList(tuple(webhook_document(each) for each in found), None))


@bp.post("/v1/webhooks")
@Operation(scopes=ADMIN, body=body_of(WEBHOOK_REQUEST), once=True)
def create(call: Call) -> Response:
    """Create a webhook for events from now on; its secret is shown only this once."""
    principal, wanted, wired = call.principal, call.body, wiring()
    _check(wanted.url)
    _master()
    with wired.units.writing() as uow:
        call.again(uow)
        made = webhooks.create(uow, principal, wanted, wired.new_id(), wired.clock())
        place = url_for("webhooks.one", webhook=made.id)
        shown = _with_secret(uow, made, 201, Location=place)
        uow.commit()
    return shown


@bp.get(PLACE)
@Operation(scopes=ADMIN)
def one(call: Call, webhook: str) -> Response:
    """Return one webhook."""
    with wiring().units.reading() as uow:
        found = uow.webhooks.by_id(call.principal.shop_id, webhook)
    return unless_seen(found.version) or _shown(found)


@bp.patch(PLACE)
@Operation(scopes=ADMIN, if_match=True, body=body_of(WEBHOOK_CHANGE))
def change(call: Call, webhook: str) -> Response:
    """Change the address, the kinds, or pause; omitted fields stay as they are."""
    principal, changes = call.principal, call.body
    if "url" in changes:
        _check(changes["url"])
    with wiring().units.writing() as uow:
        call.again(uow)
        now = wiring().clock()
        changed = webhooks.change(uow, principal, webhook, call.if_match.check, changes, now)
        uow.commit()
    return _shown(changed)


@bp.delete(PLACE)
@Operation(scopes=ADMIN, forms=())
def remove(call: Call, webhook: str) -> Response:
    """Delete a webhook and its messages; nothing more is sent."""
    with wiring().units.writing() as uow:
        call.again(uow)
        webhooks.remove(uow, call.principal, webhook, wiring().clock())
        uow.commit()
    return Response(status=204)


@bp.post(f"{PLACE}/rotate-secret")
@Operation(scopes=ADMIN, body=body_of(OVERLAP, optional=True), once=True)
def rotate(call: Call, webhook: str) -> Response:
    """Create a new secret; for a while everything is signed with the old one too."""
    _master()
    with wiring().units.writing() as uow:
        call.again(uow)
        made = webhooks.rotate(uow, call.principal, webhook, call.body, wiring().clock())
        shown = _with_secret(uow, made, 200)
        uow.commit()
    return shown


@bp.post(f"{PLACE}/replay")
@Operation(scopes=ADMIN, body=body_of(REPLAY), once=True)
def replay(call: Call, webhook: str) -> Response:
    """Resend every message that failed since an instant."""
    with wiring().units.writing() as uow:
        call.again(uow)
        found = uow.webhooks.by_id(call.principal.shop_id, webhook)
        count = uow.webhooks.failed_again(found.id, call.body, wiring().clock())
        shown = keep(uow, answer(WebhookReplayed(count)))
        uow.commit()
    return shown


@bp.get(f"{PLACE}/messages")
@Operation(scopes=ADMIN, parameters=("limit", "cursor", "status"))
def messages(call: Call, webhook: str) -> Response:
    """Return sent and pending messages, newest first."""
    before = request.args.get("cursor")
    if before is not None and not _CURSOR.fullmatch(before):
        raise not_a_cursor()
    state = cast(MessageState | None, one_of("status", MESSAGE_STATES))
    most = limit()
    with wiring().units.reading() as uow:
        found = uow.webhooks.by_id(call.principal.shop_id, webhook)
        rows = uow.webhooks.messages(found.id, state, most + 1, before)
    shown = [message_document(row) for row in rows[:most]]
    after = rows[most - 1].id if len(rows) > most else None
    return page(shown, after, kind=WebhookMessageList)


@bp.get(f"{PLACE}/messages/<message>")
@Operation(scopes=ADMIN)
def message(call: Call, webhook: str, message: str) -> Response:
    """Return one message, with its body and all attempts."""
    with wiring().units.reading() as uow:
        found = uow.webhooks.by_id(call.principal.shop_id, webhook)
        row = uow.webhooks.message(found.id, message)
        attempts = uow.webhooks.attempts(row.id)
    return answer(message_log_document(row, attempts))


@bp.post(f"{PLACE}/messages/<message>/replay")
@Operation(scopes=ADMIN, once=True)
def send_again(call: Call, webhook: str, message: str) -> Response:
    """Resend one message, whatever its state; one that is waiting for a retry goes now."""
    with wiring().units.writing() as uow:
        call.again(uow)
        found = uow.webhooks.by_id(call.principal.shop_id, webhook)
        row = uow.webhooks.message(found.id, message)
        now = wiring().clock()
        uow.webhooks.again(found.id, row.id, now, now + HELD)
        shown = keep(uow, answer(message_document(uow.webhooks.message(found.id, row.id))))
        uow.commit()
    return shown


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
