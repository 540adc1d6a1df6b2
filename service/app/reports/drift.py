"""The price of open quotes by the price list in force now."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from schemas.quotes.records import QuoteHead, Revision
from schemas.quotes.request import QUOTE_REQUEST
from schemas.quotes.stored import stored_basis
from schemas.reports.drift import DRIFT
from schemas.reports.table import Report
from schemas.wire.document import read
from schemas.wire.fields import kept_text
from schemas.wire.figures import Json, ratio
from service.app.prices.book import price_list_in_force
from service.domain.errors import JobRefused, NotPriced
from service.domain.estimates.calculation import estimate_request
from service.domain.measure.money import Currency, minor_text
from service.domain.prices.book import ShopBook
from service.domain.prices.lists import PriceList


def drift_report(
    head: Json, quotes: Iterable[tuple[QuoteHead, Revision]], book: ShopBook, today: date
) -> Report:
    """Return open quotes compared with the list in force, and their totals by currency."""
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
    """Yield the rows; counts, before and after are added to `sums` on the way."""
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
    """Return the list in force and the total by it, or why there is none."""
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


def compared_document(
    quotes: Sequence[tuple[QuoteHead, Revision]], price_list: PriceList, *, more: bool
) -> Json:
    """Return the effect of a list on quotes, one by one and together.

    Apart from the list, everything is as each quote has it: its items, costs, times and settings.
    """
    digits = price_list.currency.digits
    rows: list[Json] = []
    before = after = 0
    for head, revision in quotes:
        row: Json = {
            "number": head.number,
            "status": head.status,
            "before": minor_text(head.total_minor, Currency(head.currency).digits),
        }
        try:
            total = total_by(revision, price_list)
        except JobRefused as refused:
            row["refused"] = [
                {"pointer": fault.pointer, "code": fault.code, "detail": fault.detail}
                for fault in refused.faults()
            ]
        else:
            before, after = before + head.total_minor, after + total
            row["after"] = minor_text(total, digits)
            row |= _change_of_total(head.total_minor, total, digits)
        rows.append(row)
    return {
        "count": len(rows),
        "more": more,
        "before": minor_text(before, digits),
        "after": minor_text(after, digits),
        **_change_of_total(before, after, digits),
        "quotes": rows,
    }


@kept_text()
def total_by(revision: Revision, price_list: PriceList) -> int:
    """Return a quote's total by another list, in minor units; all else is as the quote has it.

    Raises:
        JobRefused: the list has no price for something in it.
    """
    basis = stored_basis(revision)
    sent = json.loads(revision.request, parse_float=Decimal)
    request = read(QUOTE_REQUEST, sent, unit=basis.shop.ruler.unit)
    changed = replace(basis, price_list=price_list)
    return estimate_request(request.jobs, changed, request.conditions).totals.total.minor


def _change_of_total(before: int, after: int, digits: int) -> Json:
    percent = Fraction(100 * (after - before), before) if before else None
    shown = None if percent is None else ratio(*percent.as_integer_ratio(), 2)
    return {"difference": minor_text(after - before, digits), "percent": shown}
