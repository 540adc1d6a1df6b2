"""`/v1/reports/…`: figures for scripts and for the owner, as JSON or CSV by `Accept`.

Every report reads in one database snapshot. It adds up facts recorded when they happened
(`service.persistence.reports.facts`), so it opens no quote; the exceptions are the needs of open
tickets and the current price of open quotes, of which there are never many.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta

from flask import Blueprint, Response

from schemas.quotes.records import QuoteFilter, QuoteHead, Revision
from schemas.reports.facts import PartSum
from schemas.reports.sales import margins_report, sales_report
from schemas.reports.sold import components_report, items_report, materials_report
from schemas.reports.work import labour_report, overdue_report, spoiled_report
from service.api.http.context import principal, wiring
from service.api.http.paging import bad_parameter, parameters, whole_number
from service.api.reports.request import (
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
def sales() -> Response:
    """Return quotes made, their outcomes, and quotes sold."""
    book = _book(*OFFICE)
    form, days = report_form(), asked_span(book.shop, "day")
    with wiring().units.reading() as uow:
        made = uow.figures.made(book.shop_id, days.buckets, days.as_of, days.today)
        sold = uow.figures.sold(book.shop_id, days.buckets, days.as_of)
    return report_answer(sales_report(days, made, sold), form)


@bp.get("/v1/reports/sales-by-component")
def sales_by_component() -> Response:
    """Return sales by component."""
    form, days, parts = _parts(items=False)
    return report_answer(components_report(days, parts), form)


@bp.get("/v1/reports/sales-by-item")
def sales_by_item() -> Response:
    """Return sales by component and item."""
    form, days, parts = _parts(items=True)
    return report_answer(items_report(days, parts), form)


def _parts(*, items: bool) -> tuple[str, Span, Sequence[PartSum]]:
    book = _book(*OFFICE)
    form, days = report_form(), asked_span(book.shop, "month")
    with wiring().units.reading() as uow:
        parts = uow.figures.parts(book.shop_id, days.buckets, days.as_of, items=items)
    return form, days, parts


@bp.get("/v1/reports/margins")
def margins() -> Response:
    """Return what quotes sold for and what they cost."""
    book = _book(*OFFICE)
    form, days = report_form(), asked_span(book.shop, "day")
    with wiring().units.reading() as uow:
        sold = uow.figures.sold(book.shop_id, days.buckets, days.as_of)
    return report_answer(margins_report(days, sold), form)


@bp.get("/v1/reports/materials")
def materials() -> Response:
    """Return the material sold."""
    book = _book(*SHOP)
    form, days = report_form(), asked_span(book.shop, "month")
    with wiring().units.reading() as uow:
        used = uow.figures.materials(book.shop_id, days.buckets, days.as_of)
    return report_answer(materials_report(days, used, _described(book)), form)


@bp.get("/v1/reports/purchases")
def purchases() -> Response:
    """Return what to buy for the open tickets."""
    book = _book(*SHOP)
    form = report_form()
    parameters()
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


@bp.get("/v1/reports/labour")
def labour() -> Response:
    """Return promised bench minutes against the bench's capacity."""
    book = _book(*SHOP)
    form, days = report_form(), asked_span(book.shop, "day", ahead=True)
    start, end = days.buckets[0].start, min(days.buckets[-1].end, days.as_of + _MOMENT)
    with wiring().units.reading() as uow:
        waiting = uow.figures.open_work(book.shop_id, days.as_of)
        done = uow.figures.done_work(book.shop_id, start, end)
    return report_answer(labour_report(days, waiting, done), form)


@bp.get("/v1/reports/overdue")
def overdue() -> Response:
    """Return tickets that are not done and whose promised day is past."""
    book = _book(*SHOP)
    form = report_form()
    parameters("as_of")
    as_of = asked_instant(book.shop)
    with wiring().units.reading() as uow:
        waiting = uow.figures.open_work(book.shop_id, as_of)
    head = instant_head(book.shop, as_of)
    return report_answer(overdue_report(head, shop_day(book.shop, as_of), waiting), form)


@bp.get("/v1/reports/spoiled")
def spoiled() -> Response:
    """Return spoiled pieces, and the cost of their material."""
    book = _book(*OFFICE)
    form, days = report_form(), asked_span(book.shop, "month")
    start, end = days.buckets[0].start, min(days.buckets[-1].end, days.as_of + _MOMENT)
    with wiring().units.reading() as uow:
        found = uow.figures.spoiled(book.shop_id, start, end)
    return report_answer(spoiled_report(days, found, _described(book)), form)


@bp.get("/v1/reports/price-list-drift")
def price_list_drift() -> Response:
    """Return what open quotes would cost by the list in force now."""
    book = _book(*OFFICE)
    form = report_form()
    most = _most(parameters("limit").get("limit"))
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


def _book(*scopes: str) -> ShopBook:
    """Return the book of the caller's shop, if the key has one of these scopes."""
    return wiring().shelf.book(principal(*scopes).shop_id)


def _described(book: ShopBook) -> Callable[[str], str]:
    """Return an item's current description; empty if the catalogue no longer has it."""

    def described(code: str) -> str:
        item = book.catalogue.items.get(code)
        return item.description if item else ""

    return described
