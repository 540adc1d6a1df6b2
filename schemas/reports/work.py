"""Bench reports: labour against capacity, overdue tickets, spoiled pieces."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import Annotated, ClassVar

from schemas.reports.facts import WorkRow
from schemas.reports.table import (
    From,
    MaybeMoney,
    MaybeNumber,
    Report,
    ReportRecord,
    RowCurrency,
    SpannedReport,
    To,
    count,
    span_head,
)
from schemas.tickets.records import StoredSpoilage
from schemas.wire.figures import Figures, instant, number
from schemas.wire.record import Record, doc, named
from schemas.wire.values import Day, Moment, Money, Number
from service.domain.measure.money import Currency, minor_text
from service.domain.measure.rounding import exact_sum
from service.domain.quotes.life import shop_day
from service.domain.quotes.numbers import quote_number, ticket_number
from service.domain.reports import Span
from service.domain.shop import Ordering, Shop

_DAY = timedelta(days=1)
Capacity = Annotated[Number, doc("The bench's working minutes, by the shop's settings.")]
Due = Annotated[Number, doc("Minutes of the tickets promised for it that are not done yet.")]
Done = Annotated[Number, doc("Minutes of the tickets that were finished in it.")]


class LabourRow(Record):
    """A period."""

    first: From = named(name="from")
    last: To = named(name="to")
    capacity: Capacity
    due: Due
    done: Done
    ahead: Annotated[Number, doc("Minutes of all open tickets that are promised by its end.")]
    spare: Annotated[
        MaybeNumber,
        doc(
            "The capacity from tomorrow to its end, less `ahead`; below 0, not every promise can "
            "be kept. Null for past periods and today."
        ),
    ]


class LabourTotals(Record):
    """All periods together."""

    capacity: Capacity
    due: Due
    done: Done
    unpromised: Annotated[Number, doc("Minutes of open tickets without a promised day.")]


class LabourReport(SpannedReport):
    """Bench minutes promised against the bench's capacity."""

    name: ClassVar[str] = "labour"
    rows: Annotated[tuple[LabourRow, ...], doc("The periods.")]
    totals: Annotated[tuple[LabourTotals, ...], doc("One row of totals.")]


Ticket = Annotated[str, doc("The ticket's number.")]
Quote = Annotated[str, doc("The number of its quote.")]


class OverdueRow(Record):
    """A ticket that is overdue."""

    ticket: Ticket
    quote: Quote
    reference: Annotated[str, doc("The quote's reference.")]
    label: Annotated[str, doc("The job's label.")]
    promised: Annotated[Day, doc("The promised day.")]
    days: Annotated[int, count("Days since then.")]
    minutes: Annotated[Number, doc("Its bench minutes.")]


class OverdueTotals(Record):
    """All overdue tickets."""

    tickets: Annotated[int, count("Number of tickets.")]
    minutes: Annotated[Number, doc("Their bench minutes.")]


class OverdueReport(ReportRecord):
    """Tickets that are not done and whose promised day is past."""

    name: ClassVar[str] = "overdue"
    rows: Annotated[tuple[OverdueRow, ...], doc("The tickets, longest overdue first.")]
    totals: Annotated[tuple[OverdueTotals, ...], doc("One row of totals.")]


class SpoiledRow(Record):
    """A press of the bench's button for spoiled pieces."""

    at: Annotated[Moment, doc("When it was pressed (RFC 3339, UTC).")]
    day: Annotated[Day, doc("The day in the shop.")]
    ticket: Ticket
    quote: Quote
    part: Annotated[str, doc("The part of the package or the frame: mat, glazing, rail, ….")]
    item: Annotated[str, doc("The item's code.")]
    description: Annotated[
        str, doc("The item's current description; empty if it is no longer in the catalogue.")
    ]
    size: Annotated[str, doc("The piece's size, as the shop's ruler shows it.")]
    quantity: Annotated[int, count("Number of pieces.")]
    currency: RowCurrency
    cost: Annotated[
        MaybeMoney,
        doc("The cost of their material, calculated as for a quote; null if it is not known."),
    ]
    reason: Annotated[str, doc("The reason that the bench gave.")]


class SpoiledTotals(Record):
    """All spoiled pieces in one currency."""

    currency: RowCurrency
    quantity: Annotated[int, count("Number of pieces.")]
    cost: Annotated[Money, doc("Their cost, as far as it is known.")]
    unknown: Annotated[int, count("Number of rows whose cost is not known.")]


class SpoiledReport(SpannedReport):
    """Pieces that were spoiled, and what their material cost."""

    name: ClassVar[str] = "spoiled"
    rows: Annotated[tuple[SpoiledRow, ...], doc("The spoiled pieces, oldest first.")]
    totals: Annotated[tuple[SpoiledTotals, ...], doc("The totals, by currency.")]


def labour_report(
    span: Span, waiting: Sequence[WorkRow], done: Sequence[WorkRow]
) -> Report[LabourRow, LabourTotals]:
    """Return minutes by period: capacity, promised and finished."""
    ordering = span.shop.ordering
    due = [Fraction(0)] * len(span.buckets)
    finished = list(due)
    for row in waiting:
        place = span.place(row.promised) if row.promised else None
        if place is not None:
            due[place] += row.minutes
    for row in done:
        place = span.place(shop_day(span.shop, row.finished_at)) if row.finished_at else None
        if place is not None:
            finished[place] += row.minutes
    capacity = [_capacity(ordering, bucket.first, bucket.last) for bucket in span.buckets]
    rows = [
        LabourRow(
            bucket.first.isoformat(),
            bucket.last.isoformat(),
            number(Fraction(capacity[n])),
            number(due[n]),
            number(finished[n]),
            *_ahead(span, bucket.last, waiting),
        )
        for n, bucket in enumerate(span.buckets)
    ]
    totals = LabourTotals(
        number(Fraction(sum(capacity))),
        number(exact_sum(due)),
        number(exact_sum(finished)),
        number(exact_sum(row.minutes for row in waiting if row.promised is None)),
    )
    return Report(LabourReport, span_head(span), rows, [totals])


def _ahead(span: Span, last: date, waiting: Sequence[WorkRow]) -> tuple[str, str | None]:
    """Return the minutes promised by a day, and those to spare, earliest promises first."""
    ahead = exact_sum(row.minutes for row in waiting if row.promised and row.promised <= last)
    spare = None
    if last > span.today:
        spare = number(_capacity(span.shop.ordering, span.today + _DAY, last) - ahead)
    return number(ahead), spare


def _capacity(ordering: Ordering, first: date, last: date) -> int:
    """Return the bench's working minutes from one day to another, both inclusive."""
    closed = frozenset(ordering.closed_days)
    days = (first + n * _DAY for n in range((last - first).days + 1))
    return sum(ordering.working_minutes[day.weekday()] for day in days if day not in closed)


def overdue_report(
    head: Mapping[str, str], today: date, waiting: Iterable[WorkRow]
) -> Report[OverdueRow, OverdueTotals]:
    """Return the open tickets that should be done by `today`, longest overdue first."""
    late = [(row, row.promised) for row in waiting if row.promised and row.promised < today]
    rows = [
        OverdueRow(
            ticket_number(row.serial),
            quote_number(row.quote_serial),
            row.reference,
            row.label,
            promised.isoformat(),
            (today - promised).days,
            number(row.minutes),
        )
        for row, promised in late
    ]
    minutes = number(exact_sum(row.minutes for row, _ in late))
    return Report(OverdueReport, head, rows, [OverdueTotals(len(rows), minutes)])


def spoiled_report(
    span: Span, spoiled: Sequence[StoredSpoilage], described: Callable[[str], str]
) -> Report[SpoiledRow, SpoiledTotals]:
    """Return the spoiled pieces, oldest first."""
    rows = (_spoiled_row(each, span.shop, described) for each in spoiled)
    return Report(SpoiledReport, span_head(span), rows, list(_spoiled_totals(span.shop, spoiled)))


def _spoiled_row(each: StoredSpoilage, shop: Shop, described: Callable[[str], str]) -> SpoiledRow:
    one = each.spoilage
    cost = one.cost_minor
    figures = Figures(shop.ruler)
    sides = [one.width, one.height] if one.height else [one.width]
    marks = " x ".join(figures.length(side).shop for side in sides)
    return SpoiledRow(
        instant(one.at),
        shop_day(shop, one.at).isoformat(),
        ticket_number(each.ticket_serial),
        quote_number(each.quote_serial),
        one.part,
        one.item,
        described(one.item),
        f"{marks} {shop.ruler.unit}",
        one.quantity,
        one.currency,
        None if cost is None else minor_text(cost, Currency(one.currency).digits),
        one.reason,
    )


def _spoiled_totals(shop: Shop, spoiled: Sequence[StoredSpoilage]) -> Iterator[SpoiledTotals]:
    currencies = {shop.currency, *(each.spoilage.currency for each in spoiled)}
    for code in sorted(currencies):
        mine = [each.spoilage for each in spoiled if each.spoilage.currency == code]
        cost = sum(one.cost_minor for one in mine if one.cost_minor is not None)
        yield SpoiledTotals(
            code,
            sum(one.quantity for one in mine),
            minor_text(cost, Currency(code).digits),
            sum(one.cost_minor is None for one in mine),
        )
