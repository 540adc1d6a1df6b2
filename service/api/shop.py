"""`/v1/shop` and `/v1/labour-standards`: the shop's settings and its bench times."""

from __future__ import annotations

from flask import Blueprint, Response, url_for

from schemas.labour import ShopKeepingDocuments, StandardRecord, read_standard, standard_document
from schemas.shop import read_shop, shop_document
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import changing, refuse_nul, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.app import labour
from service.app.keys.access import Principal
from service.app.shop import change_shop as store_shop

bp = Blueprint("shop", __name__)
refuse_nul(bp, "labour standard")
ADMIN = ("admin",)
READERS = ("counter", "bench", "reports")
DOCUMENTS = ShopKeepingDocuments()


@bp.get("/v1/shop")
@Operation(scopes=READERS)
def shop(call: Call) -> Response:
    """Return all of the shop's settings."""
    with wiring().units.reading() as uow:
        record = uow.shops.by_id(call.principal.shop_id)
    version = record.settings_version
    return unless_seen(version) or answer(shop_document(record), headers=tagged(version))


@bp.put("/v1/shop")
@Operation(scopes=ADMIN, if_match=True, body=Body("Shop", read_shop))
def change_shop(call: Call) -> Response:
    """Replace the shop's settings."""
    with changing(call.principal) as change:
        record = store_shop(change, call.body, call.if_match.check, DOCUMENTS)
    return answer(shop_document(record), headers=tagged(record.settings_version))


@bp.get("/v1/labour-standards")
@Operation(scopes=READERS)
def listed(call: Call) -> Response:
    """Return all labour standards of the shop; there are few."""
    principal = call.principal
    with wiring().units.reading() as uow:
        records = uow.labour_standards.records(principal.shop_id)
    rows = [standard_document(record, with_costs=principal.sees_costs) for record in records]
    return answer({"items": rows, "next": None})


@bp.post("/v1/labour-standards")
@Operation(scopes=ADMIN, body=Body("LabourStandard", read_standard), once=True)
def create(call: Call) -> Response:
    """Create a standard; the first one is in use at once."""
    principal, standard = call.principal, call.body
    with changing(principal) as change:
        record = labour.create_standard(change, standard, DOCUMENTS)
        place = url_for("shop.one", code=standard.code)
        return keep(change.uow, _standard(record, principal, 201, Location=place))


@bp.get("/v1/labour-standards/<code>")
@Operation(scopes=READERS)
def one(call: Call, code: str) -> Response:
    """Return one standard."""
    principal = call.principal
    with wiring().units.reading() as uow:
        record = uow.labour_standards.by_code(principal.shop_id, code)
    return unless_seen(record.version) or _standard(record, principal)


@bp.put("/v1/labour-standards/<code>")
@Operation(scopes=ADMIN, if_match=True, body=Body("LabourStandardChange"))
def change(call: Call, code: str) -> Response:
    """Replace a standard."""
    principal, standard = call.principal, read_standard(call.body, code)
    with changing(principal) as change:
        record = labour.change_standard(change, standard, call.if_match.check, DOCUMENTS)
    return _standard(record, principal)


@bp.post("/v1/labour-standards/<code>/use")
@Operation(scopes=ADMIN, if_match=True, once=True)
def use(call: Call, code: str) -> Response:
    """Use this standard from now on."""
    principal = call.principal
    with changing(principal) as change:
        record = labour.use_standard(change, code, call.if_match.check)
        return keep(change.uow, _standard(record, principal))


def _standard(
    record: StandardRecord, principal: Principal, status: int = 200, **more: str
) -> Response:
    document = standard_document(record, with_costs=principal.sees_costs)
    return answer(document, status, {**tagged(record.version), **more})
