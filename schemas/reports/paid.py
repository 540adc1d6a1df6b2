"""Reports of the till: payments, balances due, and finished work that nobody has collected."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Annotated, ClassVar

from schemas.quotes.answer import balance_text
from schemas.quotes.records import QuoteHead
from schemas.reports.facts import PaidSum, ShelfRow
from schemas.reports.table import (
    From,
    Report,
    ReportRecord,
    RowCurrency,
    SpannedReport,
    To,
    count,
    span_head,
)
from schemas.wire.record import Record, doc, growing, named
from schemas.wire.values import Day, Money
from service.domain.measure.money import Currency, minor_text
from service.domain.payments import PAID_BY
from service.domain.quotes.life import STATUSES, shop_day
from service.domain.quotes.numbers import quote_number, ticket_number
from service.domain.reports import Span
from service.domain.shop import Shop

Quote = Annotated[str, doc("The quote's number.")]
Reference = Annotated[str, doc("The quote's reference.")]


class PaymentsTotals(Record, kw_only=True):
    """All payments of one currency."""

    currency: RowCurrency
    payments: Annotated[int, count("Number of payments, those given back included.")]
    amount: Annotated[Money, doc("What they settle, less what was given back.")]


class PaymentsRow(PaymentsTotals, kw_only=True):
    """A period, a way of paying and a currency."""

    first: From = named(name="from")
    last: To = named(name="to")
    paid_by: Annotated[str, growing(PAID_BY, "How it was paid.")]


class PaymentsReport(SpannedReport):
    """What the till took and gave back, by how it was paid."""

    name: ClassVar[str] = "payments"
    rows: Annotated[tuple[PaymentsRow, ...], doc("The periods with payments.")]
    totals: Annotated[tuple[PaymentsTotals, ...], doc("The totals, by currency.")]


class BalancesTotals(Record, kw_only=True):
    """All balances of one currency."""

    currency: RowCurrency
    quotes: Annotated[int, count("Number of quotes.")]
    balance_due: Annotated[Money, doc("What customers owe, less what the shop owes back.")]


class BalancesRow(Record, kw_only=True):
    """A quote with money outstanding."""

    quote: Quote
    reference: Reference
    status: Annotated[str, growing(STATUSES, "Its state.")]
    handover: Annotated[str, doc("`ready`, `partly_collected`, `collected`, or empty.")]
    currency: RowCurrency
    total: Annotated[Money, doc("Its total.")]
    paid: Annotated[Money, doc("What was paid.")]
    balance_due: Annotated[
        Money, doc("What the customer owes; below zero, what the shop owes back.")
    ]


class BalancesReport(ReportRecord):
    """Quotes on which money is outstanding."""

    name: ClassVar[str] = "balances"
    rows: Annotated[tuple[BalancesRow, ...], doc("The quotes, by number.")]
    totals: Annotated[tuple[BalancesTotals, ...], doc("The totals, by currency.")]


class UncollectedRow(Record, kw_only=True):
    """A finished ticket that is still in the shop."""

    ticket: Annotated[str, doc("The ticket's number.")]
    quote: Quote
    reference: Reference
    label: Annotated[str, doc("The job's label.")]
    shelf: Annotated[str, doc("Where it stands; empty if it is not on the shelf.")]
    since: Annotated[Day, doc("The day on which it was put there, or finished.")]
    days: Annotated[int, count("Days since then.")]


class UncollectedTotals(Record, kw_only=True):
    """All of it."""

    tickets: Annotated[int, count("Number of tickets.")]
    longest: Annotated[int, count("The most days that one of them has stood.")]


class UncollectedReport(ReportRecord):
    """Finished work that is not collected, the longest standing first."""

    name: ClassVar[str] = "uncollected"
    rows: Annotated[tuple[UncollectedRow, ...], doc("The tickets.")]
    totals: Annotated[tuple[UncollectedTotals, ...], doc("One row of totals.")]


def payments_report(span: Span, paid: Sequence[PaidSum]) -> Report[PaymentsRow, PaymentsTotals]:
    """Return payments by period, way and currency."""
    rows = [
        PaymentsRow(
            first=span.buckets[each.bucket].first.isoformat(),
            last=span.buckets[each.bucket].last.isoformat(),
            paid_by=each.paid_by,
            currency=each.currency,
            payments=each.payments,
            amount=minor_text(each.amount, Currency(each.currency).digits),
        )
        for each in paid
    ]
    totals = []
    for code in sorted({span.shop.currency, *(each.currency for each in paid)}):
        mine = [each for each in paid if each.currency == code]
        amount = minor_text(sum(each.amount for each in mine), Currency(code).digits)
        payments = sum(each.payments for each in mine)
        totals.append(PaymentsTotals(currency=code, payments=payments, amount=amount))
    return Report(PaymentsReport, span_head(span), rows, totals)


def balances_report(
    head: Mapping[str, str], own: str, quotes: Sequence[QuoteHead]
) -> Report[BalancesRow, BalancesTotals]:
    """Return quotes with money outstanding; `own` is the shop's currency."""
    rows = [_balance(quote) for quote in quotes]
    totals = []
    for code in sorted({own, *(quote.currency for quote in quotes)}):
        mine = [row for row in rows if row.currency == code]
        currency = Currency(code)
        due = sum(currency.of(row.balance_due).minor for row in mine)
        text = minor_text(due, currency.digits)
        totals.append(BalancesTotals(currency=code, quotes=len(mine), balance_due=text))
    return Report(BalancesReport, head, rows, totals)


def _balance(quote: QuoteHead) -> BalancesRow:
    digits = Currency(quote.currency).digits
    return BalancesRow(
        quote=quote.number,
        reference=quote.reference,
        status=quote.status,
        handover=quote.handover,
        currency=quote.currency,
        total=minor_text(quote.total_minor, digits),
        paid=minor_text(quote.paid_minor, digits),
        balance_due=balance_text(quote),
    )


def uncollected_report(
    head: Mapping[str, str], shop: Shop, today: date, tickets: Iterable[ShelfRow]
) -> Report[UncollectedRow, UncollectedTotals]:
    """Return finished work that is still in the shop, on its day `today`."""
    rows = []
    for each in tickets:
        since = shop_day(shop, each.since)
        rows.append(
            UncollectedRow(
                ticket=ticket_number(each.serial),
                quote=quote_number(each.quote_serial),
                reference=each.reference,
                label=each.label,
                shelf=each.shelf,
                since=since.isoformat(),
                days=max((today - since).days, 0),
            )
        )
    longest = max((row.days for row in rows), default=0)
    return Report(
        UncollectedReport, head, rows, [UncollectedTotals(tickets=len(rows), longest=longest)]
    )
