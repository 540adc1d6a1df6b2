"""Bench reports: labour against capacity, overdue tickets, spoiled pieces."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, timedelta
from fractions import Fraction

from schemas.reports.facts import WorkRow
from schemas.reports.sales import CURRENCY, FROM, TO
from schemas.reports.table import Column, Form, Report, span_head
from schemas.tickets.records import StoredSpoilage
from schemas.wire.figures import Figures, Json, instant, number
from service.domain.measure.money import Currency, minor_text
from service.domain.measure.rounding import exact_sum
from service.domain.quotes.life import shop_day
from service.domain.quotes.numbers import quote_number, ticket_number
from service.domain.reports import Span
from service.domain.shop import Ordering, Shop

_DAY = timedelta(days=1)
_MINUTES = (
    Column("capacity", "number", "The bench's working minutes, by the shop's settings."),
    Column("due", "number", "Minutes of the tickets that are promised for it and not done yet."),
    Column("done", "number", "Minutes of the tickets that were finished in it."),
)
LABOUR = Form(
    "labour",
    "Bench minutes promised against the bench's capacity.",
    (
        FROM,
        TO,
        *_MINUTES,
        Column("ahead", "number", "Minutes of all open tickets that are promised by its end."),
        Column(
            "spare",
            "number",
            "Capacity from tomorrow to its end, less `ahead`; below zero not all can be kept. Null "
            "for what is past, and today.",
            null=True,
        ),
    ),
    (
        *_MINUTES,
        Column("unpromised", "number", "Minutes of open tickets for which no day is promised."),
    ),
)
_TICKET = (
    Column("ticket", "text", "The ticket's number."),
    Column("quote", "text", "Its quote's number."),
)
OVERDUE = Form(
    "overdue",
    "Tickets that are not done and whose promised day is past.",
    (
        *_TICKET,
        Column("reference", "text", "The quote's reference."),
        Column("label", "text", "The job's label."),
        Column("promised", "day", "The day for which it is promised."),
        Column("days", "whole", "Days since then."),
        Column("minutes", "number", "Its bench minutes."),
    ),
    (
        Column("tickets", "whole", "How many there are."),
        Column("minutes", "number", "Their bench minutes."),
    ),
)
_COST = Column(
    "cost", "money", "What their material cost, as a quote reckons it; null where that is not "
    "known.", null=True,
)  # fmt: skip
SPOILED = Form(
    "spoiled",
    "Pieces that were spoiled, and what their material cost.",
    (
        Column("at", "instant", "When it was pressed (RFC 3339, UTC)."),
        Column("day", "day", "The day in the shop."),
        *_TICKET,
        Column("part", "text", "mat, glazing, rail and so on."),
        Column("item", "text", "The item's code."),
        Column("description", "text", "Its description today; empty where it is gone."),
        Column("size", "text", "The piece's size, as the shop's ruler shows it."),
        Column("quantity", "whole", "How many pieces."),
        CURRENCY,
        _COST,
        Column("reason", "text", "What the bench said."),
    ),
    (
        CURRENCY,
        Column("quantity", "whole", "How many pieces."),
        Column("cost", "money", "What they cost, as far as that is known."),
        Column("unknown", "whole", "Rows whose cost is not known."),
    ),
)


def labour_report(span: Span, waiting: Sequence[WorkRow], done: Sequence[WorkRow]) -> Report:
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
        {
            "from": bucket.first.isoformat(),
            "to": bucket.last.isoformat(),
            "capacity": number(Fraction(capacity[n])),
            "due": number(due[n]),
            "done": number(finished[n]),
            **_ahead(span, bucket.last, waiting),
        }
        for n, bucket in enumerate(span.buckets)
    ]
    totals: Json = {
        "capacity": number(Fraction(sum(capacity))),
        "due": number(exact_sum(due)),
        "done": number(exact_sum(finished)),
        "unpromised": number(exact_sum(row.minutes for row in waiting if row.promised is None)),
    }
    return Report(LABOUR, span_head(span), rows, [totals])


def _ahead(span: Span, last: date, waiting: Sequence[WorkRow]) -> Json:
    """Return the minutes promised by a day, and those to spare, earliest promises first."""
    ahead = exact_sum(row.minutes for row in waiting if row.promised and row.promised <= last)
    spare = None
    if last > span.today:
        spare = number(_capacity(span.shop.ordering, span.today + _DAY, last) - ahead)
    return {"ahead": number(ahead), "spare": spare}


def _capacity(ordering: Ordering, first: date, last: date) -> int:
    """Return the bench's working minutes from one day to another, both inclusive."""
    closed = frozenset(ordering.closed_days)
    days = (first + n * _DAY for n in range((last - first).days + 1))
    return sum(ordering.working_minutes[day.weekday()] for day in days if day not in closed)


def overdue_report(head: Json, today: date, waiting: Iterable[WorkRow]) -> Report:
    """Return the open tickets that should be done by `today`, longest overdue first."""
    late = [(row, row.promised) for row in waiting if row.promised and row.promised < today]
    rows: list[Json] = [
        {
            "ticket": ticket_number(row.serial),
            "quote": quote_number(row.quote_serial),
            "reference": row.reference,
            "label": row.label,
            "promised": promised.isoformat(),
            "days": (today - promised).days,
            "minutes": number(row.minutes),
        }
        for row, promised in late
    ]
    minutes = number(exact_sum(row.minutes for row, _ in late))
    return Report(OVERDUE, head, rows, [{"tickets": len(rows), "minutes": minutes}])


def spoiled_report(
    span: Span, spoiled: Sequence[StoredSpoilage], described: Callable[[str], str]
) -> Report:
    """Return the spoiled pieces, oldest first."""
    rows = (_spoiled_row(each, span.shop, described) for each in spoiled)
    return Report(SPOILED, span_head(span), rows, list(_spoiled_totals(span.shop, spoiled)))


def _spoiled_row(each: StoredSpoilage, shop: Shop, described: Callable[[str], str]) -> Json:
    one = each.spoilage
    cost = one.cost_minor
    figures = Figures(shop.ruler)
    sides = [one.width, one.height] if one.height else [one.width]
    marks = " x ".join(figures.length(side).shop for side in sides)
    return {
        "at": instant(one.at),
        "day": shop_day(shop, one.at).isoformat(),
        "ticket": ticket_number(each.ticket_serial),
        "quote": quote_number(each.quote_serial),
        "part": one.part,
        "item": one.item,
        "description": described(one.item),
        "size": f"{marks} {shop.ruler.unit}",
        "quantity": one.quantity,
        "currency": one.currency,
        "cost": None if cost is None else minor_text(cost, Currency(one.currency).digits),
        "reason": one.reason,
    }


def _spoiled_totals(shop: Shop, spoiled: Sequence[StoredSpoilage]) -> Iterator[Json]:
    currencies = {shop.currency, *(each.spoilage.currency for each in spoiled)}
    for code in sorted(currencies):
        mine = [each.spoilage for each in spoiled if each.spoilage.currency == code]
        cost = sum(one.cost_minor for one in mine if one.cost_minor is not None)
        yield {
            "currency": code,
            "quantity": sum(one.quantity for one in mine),
            "cost": minor_text(cost, Currency(code).digits),
            "unknown": sum(one.cost_minor is None for one in mine),
        }
