"""`/v1/customers`: the shop's customers."""

from __future__ import annotations

from flask import Blueprint, Response, url_for

from schemas.customers import (
    MERGE,
    CustomerRecord,
    customer_document,
    export_document,
    quote_line,
    read_customer,
)
from schemas.wire.document import read
from service.api.http import paging
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.conditional import tagged, unless_seen
from service.api.http.context import planner, refuse_nul, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.app import customers
from service.domain.customers import sought

bp = Blueprint("customers", __name__)
refuse_nul(bp, "customer")
COUNTER = ("counter",)


@bp.get("/v1/customers")
@Operation(scopes=COUNTER, parameters=("q", "limit", "cursor"))
def listed(call: Call) -> Response:
    """Return the shop's customers, newest first; with `q`, those in whom all of it is found."""
    parts, limit, after = paging.searched(sought), paging.limit(), paging.cursor()
    with wiring().units.reading() as uow:
        page = uow.customers.page(call.principal.shop_id, parts, limit, after)
    rows = [customer_document(record) for record in page.records]
    return paging.page_answer(rows, page.after)


@bp.post("/v1/customers")
@Operation(scopes=COUNTER, body=Body("ShopCustomer", read_customer), once=True)
def create(call: Call) -> Response:
    """Store a new customer."""
    by = planner(call.principal)
    with wiring().units.writing() as uow:
        record = customers.create_customer(uow, by, call.body)
        place = url_for("customers.one", customer_id=record.id)
        made = keep(uow, _shown(record, 201, Location=place))
        uow.commit()
    return made


@bp.get("/v1/customers/<customer_id>")
@Operation(scopes=COUNTER)
def one(call: Call, customer_id: str) -> Response:
    """Return one customer."""
    with wiring().units.reading() as uow:
        record = uow.customers.by_id(call.principal.shop_id, customer_id)
    return unless_seen(record.version) or _shown(record)


@bp.put("/v1/customers/<customer_id>")
@Operation(scopes=COUNTER, if_match=True, body=Body("ShopCustomer", read_customer))
def change(call: Call, customer_id: str) -> Response:
    """Replace a customer."""
    by = planner(call.principal)
    with wiring().units.writing() as uow:
        record = customers.change_customer(uow, by, customer_id, call.body, call.if_match.check)
        uow.commit()
    return _shown(record)


@bp.post("/v1/customers/<customer_id>/merge")
@Operation(scopes=COUNTER, if_match=True, body=Body("CustomerMerge"), once=True)
def merge(call: Call, customer_id: str) -> Response:
    """Take another customer into this one."""
    by, other = planner(call.principal), read(MERGE, call.body)["customer_id"]
    with wiring().units.writing() as uow:
        record = customers.merge_customer(uow, by, customer_id, other, call.if_match.check)
        made = keep(uow, _shown(record))
        uow.commit()
    return made


@bp.get("/v1/customers/<customer_id>/export")
@Operation(scopes=COUNTER)
def export(call: Call, customer_id: str) -> Response:
    """Return all that the shop keeps of a customer."""
    shop_id = call.principal.shop_id
    with wiring().units.reading() as uow:
        record = uow.customers.by_id(shop_id, customer_id)
        rows = [quote_line(head) for head in uow.customers.quotes_of(shop_id, record.id)]
    return answer(export_document(record, rows))


@bp.post("/v1/customers/<customer_id>/forget")
@Operation(scopes=("admin",), if_match=True, once=True)
def forget(call: Call, customer_id: str) -> Response:
    """Erase a customer, here and on their quotes."""
    by = planner(call.principal)
    with wiring().units.writing() as uow:
        count = customers.forget_customer(uow, by, customer_id, call.if_match.check)
        made = keep(uow, answer({"quotes": count}))
        uow.commit()
    return made


def _shown(record: CustomerRecord, status: int = 200, **more: str) -> Response:
    return answer(customer_document(record), status, {**tagged(record.version), **more})
