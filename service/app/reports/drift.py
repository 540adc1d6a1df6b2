"""What open quotes would cost by the price list that is in force now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from schemas.prices.lists import total_by
from schemas.quotes.records import QuoteHead, Revision
from schemas.reports.sales import CURRENCY
from schemas.reports.table import Column, Form, Report
from schemas.wire.figures import Json, ratio
from service.app.prices.book import ShopBook, price_list_in_force
from service.domain.errors import JobRefused, NotPriced
from service.domain.measure.money import Currency, minor_text

_BOTH = (
    Column("before", "money", "What the customer was told."),
    Column("after", "money", "What it would be by the list in force; null where it has no price.",
           null=True),
    Column("difference", "money", "`after` - `before`.", null=True),
    Column("percent", "number", "That in percent of `before`, to two decimals.", null=True),
)  # fmt: skip
DRIFT = Form(
    "price-list-drift",
    "What open quotes would cost by the list in force now; all but the list is as each quote has "
    "it.",
    (
        Column("quote", "text", "The quote's number."),
        Column("status", "text", "Its state: draft or issued."),
        Column("reference", "text", "Its reference."),
        Column("valid_until", "day", "Its last day."),
        CURRENCY,
        Column("price_list", "text", "The list in force in its currency; null where there is none.",
               null=True),
        *_BOTH,
        Column("refused", "text", "Why it has no price by that list.", null=True),
    ),
    (
        CURRENCY,
        Column("quotes", "whole", "Quotes that have a price by the list in force."),
        *_BOTH,
        Column("refused", "whole", "Quotes that have none."),
    ),
)  # fmt: skip


def drift_report(
    head: Json, quotes: Iterable[tuple[QuoteHead, Revision]], book: ShopBook, today: date
) -> Report:
    """Open quotes against the list in force, and what they come to by currency."""
    sums: dict[str, list[int]] = {book.shop.currency: [0, 0, 0, 0]}
    rows = list(_rows(quotes, book, today, sums))
    totals = [_total_row(currency, tally) for currency, tally in sorted(sums.items())]
    return Report(DRIFT, head, rows, totals)


def _rows(
    quotes: Iterable[tuple[QuoteHead, Revision]],
    book: ShopBook,
    today: date,
    sums: dict[str, list[int]],
) -> Iterator[Json]:
    """The rows; counts, before and after are added to `sums` on the way."""
    for head, revision in quotes:
        tally = sums.setdefault(head.currency, [0, 0, 0, 0])
        code, after, refused = _now(head, revision, book, today)
        if after is None:
            tally[3] += 1
        else:
            tally[0] += 1
            tally[1] += head.total_minor
            tally[2] += after
        yield {
            "quote": head.number,
            "status": head.status,
            "reference": head.reference,
            "valid_until": head.valid_until.isoformat(),
            "currency": head.currency,
            "price_list": code,
            **_change(head.total_minor, after, head.currency),
            "refused": refused,
        }


def _now(
    head: QuoteHead, revision: Revision, book: ShopBook, today: date
) -> tuple[str | None, int | None, str | None]:
    """The list in force, the total by it, or why there is none."""
    try:
        price_list = price_list_in_force(book, today, head.currency)
    except NotPriced as none:
        return None, None, none.message
    try:
        return price_list.code, total_by(revision, price_list), None
    except JobRefused as refused:
        return price_list.code, None, "; ".join(fault.detail for fault in refused.faults())


def _change(before: int, after: int | None, currency: str) -> Json:
    digits = Currency(currency).digits
    if after is None:
        nothing: Json = {"after": None, "difference": None, "percent": None}
        return {"before": minor_text(before, digits), **nothing}
    return {
        "before": minor_text(before, digits),
        "after": minor_text(after, digits),
        "difference": minor_text(after - before, digits),
        "percent": ratio(100 * (after - before), before, 2) if before else None,
    }


def _total_row(currency: str, tally: list[int]) -> Json:
    quotes, before, after, refused = tally
    return {
        "currency": currency,
        "quotes": quotes,
        **_change(before, after, currency),
        "refused": refused,
    }
