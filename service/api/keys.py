"""`/v1/keys`: the shop's API keys, managed by its `admin` keys."""

from __future__ import annotations

from flask import Blueprint, Response, url_for

from schemas.keys import (
    KEY_CHANGE,
    KEY_REQUEST,
    OVERLAP,
    KeyIssued,
    KeyList,
    KeyRecord,
    key_document,
)
from schemas.wire.record import extended
from service.api.http.answers import answer
from service.api.http.body import body_of
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import refuse_nul, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.app.keys import issuing
from service.app.keys.access import IssuedKey
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("keys", __name__)
refuse_nul(bp, "key")
ADMIN = ("admin",)


@bp.get("/v1/keys")
@Operation(scopes=ADMIN)
def listed(call: Call) -> Response:
    """Return all keys of the shop, oldest first; there are few."""
    with wiring().units.reading() as uow:
        found = uow.keys.of_shop(call.principal.shop_id)
    now = wiring().clock()
    return answer(KeyList(tuple(key_document(key, now) for key in found), None))


@bp.post("/v1/keys")
@Operation(scopes=ADMIN, body=body_of(KEY_REQUEST), once=True)
def create(call: Call) -> Response:
    """Create a key; its token is shown only this once."""
    principal, wired = call.principal, wiring()
    with wired.units.writing() as uow:
        call.again(uow)
        made = _issued(
            uow, issuing.issue(uow, principal, call.body, wired.clock(), wired.key_words())
        )
        uow.commit()
    return made


@bp.get("/v1/keys/<key>")
@Operation(scopes=ADMIN)
def one(call: Call, key: str) -> Response:
    """Return one key."""
    with wiring().units.reading() as uow:
        found = issuing.one(uow, call.principal.shop_id, key)
    return unless_seen(found.version) or _shown(found)


@bp.patch("/v1/keys/<key>")
@Operation(scopes=ADMIN, if_match=True, body=body_of(KEY_CHANGE))
def change(call: Call, key: str) -> Response:
    """Change a key's name, expiry, origins or limit; omitted fields stay as they are."""
    principal, seen, changes = call.principal, call.if_match, call.body
    with wiring().units.writing() as uow:
        call.again(uow)
        changed = issuing.change(uow, principal, key, seen.check, changes, wiring().clock())
        uow.commit()
    return _shown(changed)


@bp.post("/v1/keys/<key>/rotate")
@Operation(scopes=ADMIN, body=body_of(OVERLAP, optional=True), once=True)
def rotate(call: Call, key: str) -> Response:
    """Create a key that replaces this one, which stays in force for a while."""
    principal, overlap, wired = call.principal, call.body, wiring()
    with wired.units.writing() as uow:
        call.again(uow)
        issued = issuing.rotate(uow, principal, key, overlap, wired.clock(), wired.key_words())
        made = _issued(uow, issued)
        uow.commit()
    return made


@bp.delete("/v1/keys/<key>")
@Operation(scopes=ADMIN, forms=())
def revoke(call: Call, key: str) -> Response:
    """Revoke a key at once, whatever version was seen; the record stays."""
    with wiring().units.writing() as uow:
        call.again(uow)
        issuing.revoke(uow, call.principal, key, wiring().clock())
        uow.commit()
    return Response(status=204)


def _issued(uow: UnitOfWork, issued: IssuedKey) -> Response:
    """Return the only answer that shows a token; it is stored encrypted for repetition."""
    record = issued.record
    shown = key_document(record, wiring().clock())
    document = extended(shown, KeyIssued, token=issued.token)
    headers = {**tagged(record.version), "Cache-Control": "no-store"}
    headers["Location"] = url_for("keys.one", key=record.id)
    return keep(uow, answer(document, 201, headers), secret=issued.token)


def _shown(key: KeyRecord) -> Response:
    return answer(key_document(key, wiring().clock()), headers=tagged(key.version))
