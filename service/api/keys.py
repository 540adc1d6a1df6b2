"""`/v1/keys`: the shop's API keys, managed by its `admin` keys."""

from __future__ import annotations

from flask import Blueprint, Response, request, url_for

from schemas.keys import (
    KEY_CHANGE,
    KEY_REQUEST,
    OVERLAP,
    KeyIssued,
    KeyList,
    KeyRecord,
    key_document,
)
from schemas.wire.document import read
from schemas.wire.record import extended
from service.api.http.answers import answer
from service.api.http.body import json_body
from service.api.http.conditional import must_match, tagged, unless_seen
from service.api.http.context import only_parameters, principal, wiring
from service.api.http.idempotency import keep, once
from service.app.keys import issuing
from service.app.keys.access import IssuedKey
from service.domain.errors import NotFound
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("keys", __name__)


@bp.before_request
def _no_such_key() -> None:
    """A NUL cannot be stored: answer 404."""
    if "\0" in (request.view_args or {}).get("key", ""):
        raise NotFound("this shop has no such key")


@bp.get("/v1/keys")
def listed() -> Response:
    """Return all keys of the shop, oldest first; there are few."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.reading() as uow:
        found = uow.keys.of_shop(asks.shop_id)
    now = wiring().clock()
    return answer(KeyList(tuple(key_document(key, now) for key in found), None))


@bp.post("/v1/keys")
@once
def create() -> Response:
    """Create a key; its token is shown only this once."""
    asks = principal("admin")
    only_parameters()
    wanted = read(KEY_REQUEST, json_body())
    wired = wiring()
    with wired.units.writing() as uow:
        principal("admin", uow=uow)
        made = _issued(uow, issuing.issue(uow, asks, wanted, wired.clock(), wired.key_words()))
        uow.commit()
    return made


@bp.get("/v1/keys/<key>")
def one(key: str) -> Response:
    """Return one key."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.reading() as uow:
        found = issuing.one(uow, asks.shop_id, key)
    return unless_seen(found.version) or _shown(found)


@bp.patch("/v1/keys/<key>")
def change(key: str) -> Response:
    """Change a key's name, expiry, origins or limit; omitted fields stay as they are."""
    asks, seen = principal("admin"), must_match()
    only_parameters()
    changes = read(KEY_CHANGE, json_body())
    with wiring().units.writing() as uow:
        principal("admin", uow=uow)
        changed = issuing.change(uow, asks, key, seen.check, changes, wiring().clock())
        uow.commit()
    return _shown(changed)


@bp.post("/v1/keys/<key>/rotate")
@once
def rotate(key: str) -> Response:
    """Create a key that replaces this one, which stays in force for a while."""
    asks = principal("admin")
    only_parameters()
    overlap = read(OVERLAP, json_body() if request.get_data(cache=True) else {})
    wired = wiring()
    with wired.units.writing() as uow:
        principal("admin", uow=uow)
        issued = issuing.rotate(uow, asks, key, overlap, wired.clock(), wired.key_words())
        made = _issued(uow, issued)
        uow.commit()
    return made


@bp.delete("/v1/keys/<key>")
def revoke(key: str) -> Response:
    """Revoke a key at once, whatever version was seen; the record stays."""
    asks = principal("admin")
    only_parameters()
    with wiring().units.writing() as uow:
        principal("admin", uow=uow)
        issuing.revoke(uow, asks, key, wiring().clock())
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
