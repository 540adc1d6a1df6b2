"""The price of open quotes by the price list in force now."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from schemas.prices.check_shapes import ComparedQuote, ComparedQuotes
from schemas.quotes.records import QuoteHead, Revision
from schemas.quotes.request import QUOTE_REQUEST
from schemas.quotes.stored import stored_basis
from schemas.reports.drift import DriftRow, DriftTotals, PriceListDriftReport
from schemas.reports.table import Report
from schemas.wire.document import read
from schemas.wire.fields import kept_text
from schemas.wire.figures import ratio
from schemas.wire.values import Fault
from service.app.prices.book import price_list_in_force
from service.domain.errors import JobRefused, NotPriced
from service.domain.estimates.calculation import estimate_request
from service.domain.measure.money import Currency, minor_text
from service.domain.prices.book import ShopBook
from service.domain.prices.lists import PriceList


def drift_report(
    head: Mapping[str, str],
    quotes: Iterable[tuple[QuoteHead, Revision]],
    book: ShopBook,
    today: date,
) -> Report[DriftRow, DriftTotals]:
    """Return open quotes compared with the list in force, and their totals by currency."""
    sums: dict[str, list[int]] = {book.shop.currency: [0, 0, 0, 0]}
    rows = list(_rows(quotes, book, today, sums))
    totals = [_total_row(currency, tally) for currency, tally in sorted(sums.items())]
    return Report(PriceListDriftReport, head, rows, totals)


def _rows(
    quotes: Iterable[tuple[QuoteHead, Revision]],
    book: ShopBook,
    today: date,
    sums: dict[str, list[int]],
) -> Iterator[DriftRow]:
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
        yield DriftRow(
            head.number,
            head.status,
            head.reference,
            head.valid_until.isoformat(),
            head.currency,
            code,
            *_change(head.total_minor, after, head.currency),
            refused,
        )


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


def _change(
    before: int, after: int | None, currency: str
) -> tuple[str, str | None, str | None, str | None]:
    """Return the totals before and after, their difference, and that in percent."""
    digits = Currency(currency).digits
    shown = minor_text(before, digits)
    if after is None:
        return shown, None, None, None
    percent = ratio(100 * (after - before), before, 2) if before else None
    return shown, minor_text(after, digits), minor_text(after - before, digits), percent


def _total_row(currency: str, tally: list[int]) -> DriftTotals:
    quotes, before, after, refused = tally
    return DriftTotals(currency, quotes, *_change(before, after, currency), refused)


def compared_document(
    quotes: Sequence[tuple[QuoteHead, Revision]], price_list: PriceList, *, more: bool
) -> ComparedQuotes:
    """Return the effect of a list on quotes, one by one and together.

    Apart from the list, everything is as each quote has it: its items, costs, times and settings.
    """
    digits = price_list.currency.digits
    rows: list[ComparedQuote] = []
    before = after = 0
    for head, revision in quotes:
        was = minor_text(head.total_minor, Currency(head.currency).digits)
        try:
            total = total_by(revision, price_list)
        except JobRefused as refused:
            faults = tuple(Fault(f.pointer, f.code, f.detail) for f in refused.faults())
            rows.append(ComparedQuote(head.number, head.status, was, refused=faults))
        else:
            before, after = before + head.total_minor, after + total
            change = _change_of_total(head.total_minor, total, digits)
            shown = minor_text(total, digits)
            rows.append(ComparedQuote(head.number, head.status, was, shown, *change))
    return ComparedQuotes(
        len(rows),
        more,
        minor_text(before, digits),
        minor_text(after, digits),
        *_change_of_total(before, after, digits),
        tuple(rows),
    )


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


def _change_of_total(before: int, after: int, digits: int) -> tuple[str, str | None]:
    """Return the difference, and that in percent."""
    percent = ratio(100 * (after - before), before, 2) if before else None
    return minor_text(after - before, digits), percent
