"""`/v1/price-lists`: drafts, checks, comparisons and publication."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from http import HTTPStatus

from flask import Blueprint, Response, url_for

from schemas.prices.check_shapes import Comparison
from schemas.prices.lists import (
    PriceListDocuments,
    PriceListRecord,
    findings_document,
    price_list_document,
    read_price_list,
)
from schemas.quotes.records import QuoteFilter, QuoteHead, Revision
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.conditional import tagged
from service.api.http.context import changing, refuse_nul, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.api.http.paging import limit
from service.app.prices import lists
from service.app.reports.drift import compared_document
from service.domain.prices.check import check_prices
from service.domain.prices.lists import PriceList
from service.domain.quotes.life import ACCEPTED, DONE, DRAFT, IN_WORK, ISSUED, shop_day
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("price_lists", __name__)
refuse_nul(bp, "price list")
ADMIN = ("admin",)
READERS = ("counter", "reports")
"""A list shows the multipliers of costs, so it is only for scopes that may see costs."""
DOCUMENTS = PriceListDocuments()
MONTH = timedelta(days=31)


@bp.get("/v1/price-lists")
@Operation(scopes=READERS)
def listed(call: Call) -> Response:
    """Return all price lists in the order in which they take effect, without their rules."""
    principal = call.principal
    with wiring().units.reading() as uow:
        records = uow.price_lists.all(principal.shop_id)
    today = _today(principal.shop_id)
    rows = [price_list_document(one, records, today, whole=False) for one in records]
    return answer({"items": rows, "next": None})


@bp.post("/v1/price-lists")
@Operation(scopes=ADMIN, body=Body("PriceList", read_price_list), once=True)
def create(call: Call) -> Response:
    """Create a draft."""
    principal, price_list = call.principal, call.body
    with changing(principal) as change:
        record = lists.create_list(change, price_list, DOCUMENTS)
        records = change.uow.price_lists.all(principal.shop_id)
        place = url_for("price_lists.one", code=price_list.code)
        made = _list(record, records, principal.shop_id, HTTPStatus.CREATED, Location=place)
        return keep(change.uow, made)


@bp.get("/v1/price-lists/<code>")
@Operation(scopes=READERS)
def one(call: Call, code: str) -> Response:
    """Return one list with all its rules; never cached, since its state may change with the day."""
    principal = call.principal
    with wiring().units.reading() as uow:
        record = uow.price_lists.by_code(principal.shop_id, code)
        records = uow.price_lists.all(principal.shop_id)
    return _list(record, records, principal.shop_id)


@bp.put("/v1/price-lists/<code>")
@Operation(scopes=ADMIN, if_match=True, body=Body("PriceListChange"))
def change(call: Call, code: str) -> Response:
    """Replace a draft."""
    principal, price_list = call.principal, read_price_list(call.body, code)
    with changing(principal) as change:
        record = lists.change_list(change, price_list, call.if_match.check, DOCUMENTS)
        records = change.uow.price_lists.all(principal.shop_id)
    return _list(record, records, principal.shop_id)


@bp.delete("/v1/price-lists/<code>")
@Operation(scopes=ADMIN, if_match=True, forms=())
def remove(call: Call, code: str) -> Response:
    """Delete a draft; a published list stays."""
    with changing(call.principal) as change:
        lists.remove_draft(change, code, call.if_match.check, DOCUMENTS)
    return Response(status=HTTPStatus.NO_CONTENT)


@bp.post("/v1/price-lists/<code>/publish")
@Operation(scopes=ADMIN, if_match=True, once=True)
def publish(call: Call, code: str) -> Response:
    """Publish a list: it takes effect on its first day, and never changes again."""
    principal = call.principal
    with changing(principal) as change:
        record = lists.publish_list(change, code, call.if_match.check)
        records = change.uow.price_lists.all(principal.shop_id)
        return keep(change.uow, _list(record, records, principal.shop_id))


@bp.get("/v1/price-lists/<code>/check")
@Operation(scopes=READERS)
def check(call: Call, code: str) -> Response:
    """Return the faults of a list, checked against the shop's own catalogue."""
    principal = call.principal
    with wiring().units.reading() as uow:
        price_list = uow.price_lists.by_code(principal.shop_id, code).price_list
        book = wiring().shelf.book_within(uow, principal.shop_id)
    return answer(findings_document(code, check_prices(price_list, book.shop, book.catalogue)))


@bp.post("/v1/price-lists/<code>/compare")
@Operation(scopes=READERS, parameters=("limit",))
def compare(call: Call, code: str) -> Response:
    """Return a list's effect on open quotes, and on those accepted within the last month."""
    principal, most, now = call.principal, limit(), wiring().clock()
    with wiring().units.reading() as uow:
        price_list = uow.price_lists.by_code(principal.shop_id, code).price_list
        groups = {
            "open": _quotes(uow, principal.shop_id, (ISSUED, DRAFT), None, most, price_list),
            "accepted": _quotes(
                uow, principal.shop_id, (ACCEPTED, IN_WORK, DONE), now - MONTH, most, price_list
            ),
        }
    shown = {
        name: compared_document(quotes[:most], price_list, more=len(quotes) > most)
        for name, quotes in groups.items()
    }
    return answer(Comparison(code, price_list.currency.code, shown["open"], shown["accepted"]))


def _quotes(
    uow: UnitOfWork,
    shop_id: str,
    states: tuple[str, ...],
    since: datetime | None,
    most: int,
    price_list: PriceList,
) -> list[tuple[QuoteHead, Revision]]:
    """Return the newest quotes in any of these states and in the list's currency, and one more."""
    heads: list[QuoteHead] = []
    for state in states:
        wanted = QuoteFilter(status=state, updated_since=since)
        heads += uow.quotes.page(shop_id, wanted, most + 1, None, _today(shop_id)).heads
    alike = (head for head in heads if head.currency == price_list.currency.code)
    newest = sorted(alike, key=lambda head: (head.created_at, head.id), reverse=True)[: most + 1]
    return list(zip(newest, uow.quotes.latest_of(newest), strict=True))


def _list(
    record: PriceListRecord,
    records: tuple[PriceListRecord, ...],
    shop_id: str,
    status: int = HTTPStatus.OK,
    **more: str,
) -> Response:
    document = price_list_document(record, records, _today(shop_id))
    return answer(document, status, {**tagged(record.version), **more})


def _today(shop_id: str) -> date:
    return shop_day(wiring().shelf.recent_book(shop_id).shop, wiring().clock())
