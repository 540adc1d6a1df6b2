"""Sales reports by period: quotes and conversion, sales and margins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated, Any, ClassVar, TypeVar

from schemas.reports.facts import MadeSum, SoldSum
from schemas.reports.table import (
    From,
    MaybeMoney,
    MaybeNumber,
    Report,
    RowCurrency,
    SpannedReport,
    To,
    count,
    span_head,
)
from schemas.wire.figures import ratio
from schemas.wire.record import Record, doc, extended, named
from schemas.wire.values import Money
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
from service.domain.reports import Bucket, Span

STATES = {
    DRAFT: (DRAFT,),
    ISSUED: (ISSUED,),
    ACCEPTED: (ACCEPTED, IN_WORK, DONE),
    DECLINED: (DECLINED,),
    EXPIRED: (EXPIRED,),
    WITHDRAWN: (WITHDRAWN,),
}
"""The states in a report, and the quote states that each counts."""


class SalesTotals(Record, kw_only=True):
    """All periods together, in one currency."""

    currency: RowCurrency
    made: Annotated[int, count("Number of quotes made.")]
    made_total: Annotated[Money, doc("Their totals with tax, each as it was at `as_of`.")]
    made_average: Annotated[MaybeMoney, doc("The average of these, rounded half up.")]
    given: Annotated[
        int,
        count(
            "How many of them had been given to the customer by `as_of`, whatever became of them; "
            "withdrawn ones are left out."
        ),
    ]
    draft: Annotated[int, count("How many of them were still drafts at `as_of`.")]
    issued: Annotated[int, count("How many of them the customer had not answered.")]
    accepted: Annotated[int, count("How many of them were accepted, in work or done.")]
    declined: Annotated[int, count("How many of them were declined.")]
    expired: Annotated[int, count("How many of them had expired.")]
    withdrawn: Annotated[int, count("How many of them were withdrawn.")]
    conversion: Annotated[
        MaybeNumber,
        doc(
            "`accepted` / `given`, to four decimals: of what customers were given, how much they "
            "took. Drafts of public forms do not count."
        ),
    ]
    sold: Annotated[
        int,
        count(
            "Number of quotes accepted, whenever they were made; without those taken back by "
            "`as_of`."
        ),
    ]
    sold_total: Annotated[Money, doc("Their totals with tax.")]
    sold_tax: Annotated[Money, doc("The tax in these.")]
    sold_net: Annotated[Money, doc("`sold_total` - `sold_tax`.")]
    sold_average: Annotated[MaybeMoney, doc("The average of `sold_total`, rounded half up.")]


class SalesRow(SalesTotals):
    """A period, in one currency."""

    first: From = named(name="from")
    last: To = named(name="to")


class SalesReport(SpannedReport):
    """Quotes made, what became of them, and quotes sold."""

    name: ClassVar[str] = "sales"
    rows: Annotated[tuple[SalesRow, ...], doc("The periods.")]
    totals: Annotated[tuple[SalesTotals, ...], doc("The totals, by currency.")]


class MarginsTotals(Record, kw_only=True):
    """All periods together, in one currency."""

    currency: RowCurrency
    sold: Annotated[int, count("Number of quotes accepted; without those taken back by `as_of`.")]
    sold_net: Annotated[Money, doc("Their totals without tax.")]
    reckoned: Annotated[
        int, count("Number of those whose cost is known, and in the same currency.")
    ]
    net: Annotated[Money, doc("The totals of these without tax.")]
    cost: Annotated[Money, doc("Their cost: material, and bench time at its hourly cost.")]
    earned: Annotated[Money, doc("`net` - `cost`.")]
    margin: Annotated[MaybeNumber, doc("`earned` / `net`, to four decimals.")]
    markup: Annotated[MaybeNumber, doc("`net` / `cost`, to four decimals.")]


class MarginsRow(MarginsTotals):
    """A period, in one currency."""

    first: From = named(name="from")
    last: To = named(name="to")


class MarginsReport(SpannedReport):
    """What quotes sold for and what they cost, by when they were accepted."""

    name: ClassVar[str] = "margins"
    rows: Annotated[tuple[MarginsRow, ...], doc("The periods.")]
    totals: Annotated[tuple[MarginsTotals, ...], doc("The totals, by currency.")]


def sales_report(
    span: Span, made: Sequence[MadeSum], sold: Sequence[SoldSum]
) -> Report[SalesRow, SalesTotals]:
    """Return the quotes made, their outcomes, and the quotes sold, by period and currency."""
    every: list[MadeSum | SoldSum] = [*made, *sold]
    by_place = _by_place(every)
    rows = [
        extended(_sales(currency, by_place.get((n, currency), [])), SalesRow, **_period(bucket))
        for n, bucket, currency in _places(span, by_place)
    ]
    totals = [
        _sales(currency, [s for (_, c), sums in by_place.items() if c == currency for s in sums])
        for currency in _currencies(span, by_place)
    ]
    return Report(SalesReport, span_head(span), rows, totals)


def _sales(currency: str, sums: Iterable[MadeSum | SoldSum]) -> SalesTotals:
    digits = Currency(currency).digits
    every = list(sums)
    made = [s for s in every if isinstance(s, MadeSum)]
    sold = [s for s in every if isinstance(s, SoldSum)]
    quotes, total = sum(s.quotes for s in made), sum(s.total for s in made)
    counts = {
        state: sum(s.quotes for s in made if s.status in stored) for state, stored in STATES.items()
    }
    given = sum(s.given for s in made)
    many, sold_total = sum(s.quotes for s in sold), sum(s.total for s in sold)
    tax = sum(s.tax for s in sold)
    return SalesTotals(
        currency=currency,
        made=quotes,
        made_total=minor_text(total, digits),
        made_average=_average(total, quotes, digits),
        given=given,
        draft=counts[DRAFT],
        issued=counts[ISSUED],
        accepted=counts[ACCEPTED],
        declined=counts[DECLINED],
        expired=counts[EXPIRED],
        withdrawn=counts[WITHDRAWN],
        conversion=ratio(counts[ACCEPTED], given, 4) if given else None,
        sold=many,
        sold_total=minor_text(sold_total, digits),
        sold_tax=minor_text(tax, digits),
        sold_net=minor_text(sold_total - tax, digits),
        sold_average=_average(sold_total, many, digits),
    )


def _average(total: int, many: int, digits: int) -> str | None:
    return minor_text(half_up(total, many), digits) if many else None


def margins_report(span: Span, sold: Sequence[SoldSum]) -> Report[MarginsRow, MarginsTotals]:
    """Return the sales and their costs, by period and currency."""
    by_place = _by_place(sold)
    rows = [
        extended(_earned(currency, by_place.get((n, currency), [])), MarginsRow, **_period(bucket))
        for n, bucket, currency in _places(span, by_place)
    ]
    totals = [
        _earned(currency, [s for s in sold if s.currency == currency])
        for currency in _currencies(span, by_place)
    ]
    return Report(MarginsReport, span_head(span), rows, totals)


def _earned(currency: str, sold: Sequence[SoldSum]) -> MarginsTotals:
    digits = Currency(currency).digits
    net, cost = sum(s.reckoned_net for s in sold), sum(s.cost for s in sold)
    return MarginsTotals(
        currency=currency,
        sold=sum(s.quotes for s in sold),
        sold_net=minor_text(sum(s.total - s.tax for s in sold), digits),
        reckoned=sum(s.reckoned for s in sold),
        net=minor_text(net, digits),
        cost=minor_text(cost, digits),
        earned=minor_text(net - cost, digits),
        margin=ratio(net - cost, net, 4) if net else None,
        markup=ratio(net, cost, 4) if cost else None,
    )


def _period(bucket: Bucket) -> dict[str, str]:
    return {"first": bucket.first.isoformat(), "last": bucket.last.isoformat()}


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
