"""`/v1/reports/…`: figures for scripts and for the owner, as JSON or CSV by `Accept`.

Every report reads in one database snapshot. It adds up facts recorded when they happened
(`service.persistence.reports.facts`), so it opens no quote; the exceptions are the needs of open
tickets and the current price of open quotes, of which there are never many.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta

from flask import Blueprint, Response, request

from schemas.quotes.records import QuoteFilter, QuoteHead, Revision
from schemas.reports.cut import cutting_report
from schemas.reports.facts import PartSum
from schemas.reports.paid import balances_report, payments_report, uncollected_report
from schemas.reports.sales import margins_report, sales_report
from schemas.reports.sold import components_report, items_report, materials_report
from schemas.reports.work import labour_report, overdue_report, spoiled_report
from service.api.http.context import wiring
from service.api.http.negotiation import REPORT_FORMS
from service.api.http.operation import Call, Operation
from service.api.http.paging import bad_parameter, whole_number
from service.api.reports.request import (
    BOM,
    SPAN,
    asked_instant,
    asked_span,
    instant_head,
    report_answer,
    report_form,
)
from service.app.reports.drift import drift_report
from service.app.reports.purchases import purchases_report
from service.domain.errors import Conflict
from service.domain.prices.book import ShopBook
from service.domain.quotes.life import DRAFT, ISSUED, shop_day
from service.domain.reports import Span
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("reports", __name__)
OFFICE = ("reports",)
SHOP = ("reports", "counter", "bench")
"""The scopes that plan work: they see what it takes, and no money."""
MOST_TICKETS = 5_000
USUAL_QUOTES, MOST_QUOTES = 200, 2_000
_MOMENT = timedelta(microseconds=1)


@bp.get("/v1/reports/sales")
@Operation(scopes=OFFICE, parameters=SPAN, forms=REPORT_FORMS)
def sales(call: Call) -> Response:
    """Return quotes made, their outcomes, and quotes sold."""
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "day")
    with wiring().units.reading() as uow:
        made = uow.figures.made(book.shop_id, days.buckets, days.as_of, days.today)
        sold = uow.figures.sold(book.shop_id, days.buckets, days.as_of)
    return report_answer(sales_report(days, made, sold), form)


@bp.get("/v1/reports/sales-by-component")
@Operation(scopes=OFFICE, parameters=SPAN, forms=REPORT_FORMS)
def sales_by_component(call: Call) -> Response:
    """Return sales by component."""
    form, days, parts = _parts(call, items=False)
    return report_answer(components_report(days, parts), form)


@bp.get("/v1/reports/sales-by-item")
@Operation(scopes=OFFICE, parameters=SPAN, forms=REPORT_FORMS)
def sales_by_item(call: Call) -> Response:
    """Return sales by component and item."""
    form, days, parts = _parts(call, items=True)
    return report_answer(items_report(days, parts), form)


def _parts(call: Call, *, items: bool) -> tuple[str, Span, Sequence[PartSum]]:
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "month")
    with wiring().units.reading() as uow:
        parts = uow.figures.parts(book.shop_id, days.buckets, days.as_of, items=items)
    return form, days, parts


@bp.get("/v1/reports/margins")
@Operation(scopes=OFFICE, parameters=SPAN, forms=REPORT_FORMS)
def margins(call: Call) -> Response:
    """Return what quotes sold for and what they cost."""
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "day")
    with wiring().units.reading() as uow:
        sold = uow.figures.sold(book.shop_id, days.buckets, days.as_of)
    return report_answer(margins_report(days, sold), form)


@bp.get("/v1/reports/materials")
@Operation(scopes=SHOP, parameters=SPAN, forms=REPORT_FORMS)
def materials(call: Call) -> Response:
    """Return the material sold."""
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "month")
    with wiring().units.reading() as uow:
        used = uow.figures.materials(book.shop_id, days.buckets, days.as_of)
    return report_answer(materials_report(days, used, _described(book)), form)


@bp.get("/v1/reports/purchases")
@Operation(scopes=SHOP, parameters=(BOM,), forms=REPORT_FORMS)
def purchases(call: Call) -> Response:
    """Return what to buy for the open tickets."""
    book = _book(call)
    form = report_form()
    shop_id = book.shop_id
    with wiring().units.reading() as uow:
        tickets = uow.tickets.open_ones(shop_id, MOST_TICKETS + 1)
        if len(tickets) > MOST_TICKETS:
            raise Conflict(f"more than {MOST_TICKETS} tickets are open; finish some first")
        cut = uow.cutting_plans.cut_lots([ticket.head.id for ticket in tickets])
        levels = uow.stock_levels.of_items(shop_id, None)
        offcuts = uow.rack.on_rack(shop_id, list(book.catalogue.items))
    head = instant_head(book.shop, wiring().clock())
    return report_answer(purchases_report(head, tickets, cut, book, (levels, offcuts)), form)


@bp.get("/v1/reports/cutting")
@Operation(scopes=SHOP, parameters=SPAN, forms=REPORT_FORMS)
def cutting(call: Call) -> Response:
    """Return what committed cutting plans make of the stock."""
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "month")
    with wiring().units.reading() as uow:
        cut = uow.figures.cut(book.shop_id, days.buckets, days.as_of)
    return report_answer(cutting_report(days, cut, _described(book)), form)


@bp.get("/v1/reports/labour")
@Operation(scopes=SHOP, parameters=SPAN, forms=REPORT_FORMS)
def labour(call: Call) -> Response:
    """Return promised bench minutes against the bench's capacity."""
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "day", ahead=True)
    start, end = days.buckets[0].start, min(days.buckets[-1].end, days.as_of + _MOMENT)
    with wiring().units.reading() as uow:
        waiting = uow.figures.open_work(book.shop_id, days.as_of)
        done = uow.figures.done_work(book.shop_id, start, end)
    return report_answer(labour_report(days, waiting, done), form)


@bp.get("/v1/reports/overdue")
@Operation(scopes=SHOP, parameters=("as_of", BOM), forms=REPORT_FORMS)
def overdue(call: Call) -> Response:
    """Return tickets that are not done and whose promised day is past."""
    book = _book(call)
    form = report_form()
    as_of = asked_instant(book.shop)
    with wiring().units.reading() as uow:
        waiting = uow.figures.open_work(book.shop_id, as_of)
    head = instant_head(book.shop, as_of)
    return report_answer(overdue_report(head, shop_day(book.shop, as_of), waiting), form)


@bp.get("/v1/reports/spoiled")
@Operation(scopes=OFFICE, parameters=SPAN, forms=REPORT_FORMS)
def spoiled(call: Call) -> Response:
    """Return spoiled pieces, and the cost of their material."""
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "month")
    start, end = days.buckets[0].start, min(days.buckets[-1].end, days.as_of + _MOMENT)
    with wiring().units.reading() as uow:
        found = uow.figures.spoiled(book.shop_id, start, end)
    return report_answer(spoiled_report(days, found, _described(book)), form)


@bp.get("/v1/reports/payments")
@Operation(scopes=OFFICE, parameters=SPAN, forms=REPORT_FORMS)
def payments(call: Call) -> Response:
    """Return what the till took and gave back."""
    book = _book(call)
    form, days = report_form(), asked_span(book.shop, "day")
    with wiring().units.reading() as uow:
        paid = uow.figures.paid(book.shop_id, days.buckets, days.as_of)
    return report_answer(payments_report(days, paid), form)


@bp.get("/v1/reports/balances")
@Operation(scopes=("reports", "counter"), parameters=(BOM,), forms=REPORT_FORMS)
def balances(call: Call) -> Response:
    """Return the quotes on which money is outstanding, as things stand now."""
    book = _book(call)
    form = report_form()
    with wiring().units.reading() as uow:
        found = uow.figures.outstanding(book.shop_id)
    head = instant_head(book.shop, wiring().clock())
    return report_answer(balances_report(head, book.shop.currency, found), form)


@bp.get("/v1/reports/uncollected")
@Operation(scopes=SHOP, parameters=(BOM,), forms=REPORT_FORMS)
def uncollected(call: Call) -> Response:
    """Return finished work that nobody has collected, as things stand now."""
    book = _book(call)
    form, now = report_form(), wiring().clock()
    with wiring().units.reading() as uow:
        found = uow.figures.uncollected(book.shop_id)
    head = instant_head(book.shop, now)
    return report_answer(uncollected_report(head, book.shop, shop_day(book.shop, now), found), form)


@bp.get("/v1/reports/price-list-drift")
@Operation(scopes=OFFICE, parameters=("limit", BOM), forms=REPORT_FORMS)
def price_list_drift(call: Call) -> Response:
    """Return what open quotes would cost by the list in force now."""
    book = _book(call)
    form = report_form()
    most = _most(request.args.get("limit"))
    now = wiring().clock()
    today = shop_day(book.shop, now)
    with wiring().units.reading() as uow:
        quotes = _open_quotes(uow, book.shop_id, most, today)
        report = drift_report(instant_head(book.shop, now), quotes, book, today)
    return report_answer(report, form)


def _most(text: str | None) -> int:
    if text is None:
        return USUAL_QUOTES
    limit = whole_number(text, MOST_QUOTES)
    if limit is None:
        raise bad_parameter("limit", f"it looks at 1 to {MOST_QUOTES} quotes, the newest ones")
    return limit


def _open_quotes(
    uow: UnitOfWork, shop_id: str, most: int, today: date
) -> Iterator[tuple[QuoteHead, Revision]]:
    """Yield the newest quotes that are open today, in full."""
    heads: list[QuoteHead] = []
    for state in (ISSUED, DRAFT):
        heads += uow.quotes.page(shop_id, QuoteFilter(status=state), most, None, today).heads
    heads.sort(key=lambda head: (head.created_at, head.id), reverse=True)
    newest = heads[:most]
    yield from zip(newest, uow.quotes.latest_of(newest), strict=True)


def _book(call: Call) -> ShopBook:
    """Return the book of the caller's shop."""
    return wiring().shelf.book(call.principal.shop_id)


def _described(book: ShopBook) -> Callable[[str], str]:
    """Return an item's current description; empty if the catalogue no longer has it."""

    def described(code: str) -> str:
        item = book.catalogue.items.get(code)
        return item.description if item else ""

    return described
