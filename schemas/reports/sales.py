"""Sales reports: quotes and conversion, components and items, margins, material."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

from schemas.reports.facts import MadeSum, MaterialSum, PartSum, SoldSum
from schemas.reports.table import Column, Form, Report, span_head
from schemas.wire.figures import Json, ratio
from service.domain.measure.money import Currency, minor_text
from service.domain.measure.rounding import half_up
from service.domain.quotes.life import (
    ACCEPTED,
    DECLINED,
    DONE,
    DRAFT,
    EXPIRED,
    IN_WORK,
    ISSUED,
    WITHDRAWN,
)
from service.domain.quotes.sale import MILLION
from service.domain.reports import Bucket, Span

FROM = Column("from", "day", "The first day of the period.")
TO = Column("to", "day", "Its last day.")
CURRENCY = Column("currency", "currency", "What the money of the row is in (ISO 4217).")
STATES = {
    DRAFT: (DRAFT,),
    ISSUED: (ISSUED,),
    ACCEPTED: (ACCEPTED, IN_WORK, DONE),
    DECLINED: (DECLINED,),
    EXPIRED: (EXPIRED,),
    WITHDRAWN: (WITHDRAWN,),
}
"""The states in a report, and the quote states that each counts."""
_MADE = (
    Column("made", "whole", "Quotes made in the period."),
    Column("made_total", "money", "What they come to, each as it stood at `as_of`, tax and all."),
    Column("made_average", "money", "The same for one, half up.", null=True),
    Column(
        "given",
        "whole",
        "How many of them were given to the customer by `as_of`, whatever became of them then; "
        "those that were withdrawn are left out.",
    ),
    Column("draft", "whole", "How many of them nobody had looked at by `as_of`."),
    Column("issued", "whole", "Of them, with the customer."),
    Column("accepted", "whole", "Of them, accepted, in work or done."),
    Column("declined", "whole", "Of them, declined."),
    Column("expired", "whole", "Of them, expired."),
    Column("withdrawn", "whole", "Of them, withdrawn."),
    Column("conversion", "number", "`accepted` / `made`, to four decimals.", null=True),
)
_SOLD = (
    Column("sold", "whole", "Quotes accepted in the period, whenever they were made; not those "
           "taken back by `as_of`."),
    Column("sold_total", "money", "What they come to, tax and all."),
    Column("sold_tax", "money", "The tax in it."),
    Column("sold_net", "money", "`sold_total` - `sold_tax`."),
    Column("sold_average", "money", "`sold_total` for one, half up.", null=True),
)  # fmt: skip
SALES = Form(
    "sales",
    "Quotes made, what became of them, and quotes sold.",
    (FROM, TO, CURRENCY, *_MADE, *_SOLD),
    (CURRENCY, *_MADE, *_SOLD),
)
_PART = (
    Column("component", "text", "mat, frame, glazing and so on; fee for fees."),
    Column("quotes", "whole", "Quotes accepted in the period that have it."),
    Column("net", "money", "What the shop keeps of it: after all discounts, without tax."),
)
_ITEM = Column("item", "text", "The item's or the fee's code; null for labour.", null=True)
_NET = (CURRENCY, Column("net", "money", "The rows together: `sold_net` of the same days."))
COMPONENTS = Form(
    "sales-by-component",
    "What was sold, by component.",
    (FROM, TO, CURRENCY, *_PART),
    _NET,
)
ITEMS = Form(
    "sales-by-item",
    "What was sold, by component and item.",
    (FROM, TO, CURRENCY, _PART[0], _ITEM, *_PART[1:]),
    _NET,
)
_EARNED = (
    Column("sold", "whole", "Quotes accepted in the period; not those taken back by `as_of`."),
    Column("sold_net", "money", "What they come to without tax."),
    Column("reckoned", "whole", "Those of them whose cost is known, and in the same currency."),
    Column("net", "money", "What these come to without tax."),
    Column("cost", "money", "What they cost: material, and bench time at its hourly cost."),
    Column("earned", "money", "`net` - `cost`."),
    Column("margin", "number", "`earned` / `net`, to four decimals.", null=True),
    Column("markup", "number", "`net` / `cost`, to four decimals.", null=True),
)
MARGINS = Form(
    "margins",
    "What quotes sold for and what they cost, by when they were accepted.",
    (FROM, TO, CURRENCY, *_EARNED),
    (CURRENCY, *_EARNED),
)
_USED = (
    Column("item", "text", "The item's code."),
    Column("description", "text", "Its description today; empty where it is gone."),
    Column("basis", "text", "What the quantity counts: linear_foot, square_foot, sheet and so on."),
    Column("quantity", "number", "The quantities that the quotes show, added up."),
    Column("quotes", "whole", "Quotes that use it."),
)
MATERIALS = Form(
    "materials",
    "What the quotes accepted in a period use of each item, on each basis that quotes show.",
    (FROM, TO, *_USED),
    _USED[:4],
)


def sales_report(span: Span, made: Sequence[MadeSum], sold: Sequence[SoldSum]) -> Report:
    """Return the quotes made, their outcomes, and the quotes sold, by period and currency."""
    every: list[MadeSum | SoldSum] = [*made, *sold]
    by_place = _by_place(every)
    rows = [
        {**_days(bucket), **_sales_row(currency, by_place.get((n, currency), []))}
        for n, bucket, currency in _places(span, by_place)
    ]
    totals = [
        _sales_row(
            currency, [s for (_, c), sums in by_place.items() if c == currency for s in sums]
        )
        for currency in _currencies(span, by_place)
    ]
    return Report(SALES, span_head(span), rows, totals)


def _sales_row(currency: str, sums: Iterable[MadeSum | SoldSum]) -> Json:
    digits = Currency(currency).digits
    every = list(sums)
    made = [s for s in every if isinstance(s, MadeSum)]
    sold = [s for s in every if isinstance(s, SoldSum)]
    quotes, total = sum(s.quotes for s in made), sum(s.total for s in made)
    counts = {
        state: sum(s.quotes for s in made if s.status in stored) for state, stored in STATES.items()
    }
    many, sold_total = sum(s.quotes for s in sold), sum(s.total for s in sold)
    tax = sum(s.tax for s in sold)
    return {
        "currency": currency,
        "made": quotes,
        "made_total": minor_text(total, digits),
        "made_average": _average(total, quotes, digits),
        "given": sum(s.given for s in made),
        **counts,
        "conversion": ratio(counts[ACCEPTED], quotes, 4) if quotes else None,
        "sold": many,
        "sold_total": minor_text(sold_total, digits),
        "sold_tax": minor_text(tax, digits),
        "sold_net": minor_text(sold_total - tax, digits),
        "sold_average": _average(sold_total, many, digits),
    }


def _average(total: int, many: int, digits: int) -> str | None:
    return minor_text(half_up(total, many), digits) if many else None


def parts_report(span: Span, parts: Sequence[PartSum], *, items: bool) -> Report:
    """Return the sales by component, or by component and item."""
    rows = [{**_days(span.buckets[part.bucket]), **_part_row(part, items=items)} for part in parts]
    nets: dict[str, int] = {span.shop.currency: 0}
    for part in parts:
        nets[part.currency] = nets.get(part.currency, 0) + part.net
    totals: list[Json] = [
        {"currency": code, "net": minor_text(net, Currency(code).digits)}
        for code, net in sorted(nets.items())
    ]
    return Report(ITEMS if items else COMPONENTS, span_head(span), rows, totals)


def _part_row(part: PartSum, *, items: bool) -> Json:
    item: Json = {"item": part.item or None} if items else {}
    return {
        "currency": part.currency,
        "component": part.component,
        **item,
        "quotes": part.quotes,
        "net": minor_text(part.net, Currency(part.currency).digits),
    }


def margins_report(span: Span, sold: Sequence[SoldSum]) -> Report:
    """Return the sales and their costs, by period and currency."""
    by_place = _by_place(sold)
    rows = [
        {**_days(bucket), **_earned_row(currency, by_place.get((n, currency), []))}
        for n, bucket, currency in _places(span, by_place)
    ]
    totals = [
        _earned_row(currency, [s for s in sold if s.currency == currency])
        for currency in _currencies(span, by_place)
    ]
    return Report(MARGINS, span_head(span), rows, totals)


def _earned_row(currency: str, sold: Sequence[SoldSum]) -> Json:
    digits = Currency(currency).digits
    net, cost = sum(s.reckoned_net for s in sold), sum(s.cost for s in sold)
    return {
        "currency": currency,
        "sold": sum(s.quotes for s in sold),
        "sold_net": minor_text(sum(s.total - s.tax for s in sold), digits),
        "reckoned": sum(s.reckoned for s in sold),
        "net": minor_text(net, digits),
        "cost": minor_text(cost, digits),
        "earned": minor_text(net - cost, digits),
        "margin": ratio(net - cost, net, 4) if net else None,
        "markup": ratio(net, cost, 4) if cost else None,
    }


def materials_report(
    span: Span, used: Sequence[MaterialSum], described: Callable[[str], str]
) -> Report:
    """Return the sales as quantities of material."""
    rows = [
        {
            **_days(span.buckets[use.bucket]),
            **_used_row((use.item, use.basis), use.millionths, described),
            "quotes": use.quotes,
        }
        for use in used
    ]
    whole: dict[tuple[str, str], int] = {}
    for use in used:
        whole[use.item, use.basis] = whole.get((use.item, use.basis), 0) + use.millionths
    totals = [_used_row(key, millionths, described) for key, millionths in sorted(whole.items())]
    return Report(MATERIALS, span_head(span), rows, totals)


def _used_row(key: tuple[str, str], millionths: int, described: Callable[[str], str]) -> Json:
    item, basis = key
    quantity = ratio(millionths, MILLION)
    return {"item": item, "description": described(item), "basis": basis, "quantity": quantity}


def _days(bucket: Bucket) -> Json:
    return {"from": bucket.first.isoformat(), "to": bucket.last.isoformat()}


SumT = TypeVar("SumT", MadeSum | SoldSum, SoldSum)
_Places = Mapping[tuple[int, str], Any]


def _by_place(sums: Iterable[SumT]) -> dict[tuple[int, str], list[SumT]]:
    found: dict[tuple[int, str], list[SumT]] = {}
    for each in sums:
        found.setdefault((each.bucket, each.currency), []).append(each)
    return found


def _currencies(span: Span, by_place: _Places) -> list[str]:
    """Return the shop's own currency first, then any others with data."""
    own = span.shop.currency
    return [own, *sorted({currency for _, currency in by_place} - {own})]


def _places(span: Span, by_place: _Places) -> Iterable[tuple[int, Bucket, str]]:
    """Yield every period in the shop's own currency, and in others that have data."""
    for n, bucket in enumerate(span.buckets):
        for currency in _currencies(span, by_place):
            if currency == span.shop.currency or (n, currency) in by_place:
                yield n, bucket, currency
