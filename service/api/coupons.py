"""`/v1/coupons`: what the shop takes off for a code."""

from __future__ import annotations

from flask import Blueprint, Response, url_for

from schemas.prices.coupons import CouponRecord, coupon_document, read_coupon
from service.api.http import paging
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import planner, refuse_nul, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.app.prices import coupons
from service.domain.prices.coupons import folded_code

bp = Blueprint("coupons", __name__)
refuse_nul(bp, "coupon")
READERS, ADMIN = ("counter",), ("admin",)
SENT = Body("Coupon", read_coupon)


@bp.get("/v1/coupons")
@Operation(scopes=READERS, parameters=("limit", "cursor"))
def listed(call: Call) -> Response:
    """Return the shop's coupons, newest first."""
    limit, after = paging.limit(), paging.cursor(paging.CODE)
    with wiring().units.reading() as uow:
        page = uow.coupons.page(call.principal.shop_id, limit, after)
    return paging.page_answer([coupon_document(record) for record in page.records], page.after)


@bp.post("/v1/coupons")
@Operation(scopes=ADMIN, body=SENT, once=True)
def create(call: Call) -> Response:
    """Store a new coupon."""
    by = planner(call.principal)
    with wiring().units.writing() as uow:
        record = coupons.create_coupon(uow, by, call.body)
        place = url_for("coupons.one", coupon=record.coupon.code)
        made = keep(uow, _shown(record, 201, Location=place))
        uow.commit()
    return made


@bp.get("/v1/coupons/<coupon>")
@Operation(scopes=READERS)
def one(call: Call, coupon: str) -> Response:
    """Return one coupon and how often it is used."""
    with wiring().units.reading() as uow:
        record = uow.coupons.by_code(call.principal.shop_id, folded_code(coupon))
    return unless_seen(record.version) or _shown(record)


@bp.put("/v1/coupons/<coupon>")
@Operation(scopes=ADMIN, if_match=True, body=SENT)
def change(call: Call, coupon: str) -> Response:
    """Replace a coupon."""
    by = planner(call.principal)
    with wiring().units.writing() as uow:
        record = coupons.change_coupon(uow, by, coupon, call.body, call.if_match.check)
        uow.commit()
    return _shown(record)


@bp.post("/v1/coupons/<coupon>/stop")
@Operation(scopes=ADMIN, if_match=True, once=True)
def stop(call: Call, coupon: str) -> Response:
    """Take a coupon no more."""
    by = planner(call.principal)
    with wiring().units.writing() as uow:
        record = coupons.stop_coupon(uow, by, coupon, call.if_match.check)
        made = keep(uow, _shown(record))
        uow.commit()
    return made


def _shown(record: CouponRecord, status: int = 200, **more: str) -> Response:
    return answer(coupon_document(record), status, {**tagged(record.version), **more})
