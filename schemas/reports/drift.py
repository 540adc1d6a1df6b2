"""The report on open quotes under the list in force."""

from __future__ import annotations

from typing import Annotated, ClassVar

from schemas.reports.table import MaybeMoney, MaybeNumber, ReportRecord, RowCurrency, count
from schemas.wire.record import Record, doc
from schemas.wire.values import Day, Money

Before = Annotated[Money, doc("The total that the customer was given.")]
After = Annotated[
    MaybeMoney, doc("The total by the list in force; null if that has no price for something.")
]
Difference = Annotated[MaybeMoney, doc("`after` - `before`.")]
Percent = Annotated[MaybeNumber, doc("The difference in percent of `before`, to two decimals.")]


class DriftRow(Record):
    """An open quote."""

    quote: Annotated[str, doc("The quote's number.")]
    status: Annotated[str, doc("The quote's state: draft or issued.")]
    reference: Annotated[str, doc("The quote's reference.")]
    valid_until: Annotated[Day, doc("The last day on which it is valid.")]
    currency: RowCurrency
    price_list: Annotated[
        str | None, doc("The list in force in its currency; null if there is none.")
    ]
    before: Before
    after: After
    difference: Difference
    percent: Percent
    refused: Annotated[str | None, doc("Why the list in force gives it no price.")]


class DriftTotals(Record):
    """All open quotes in one currency."""

    currency: RowCurrency
    quotes: Annotated[int, count("Number of quotes that the list in force prices.")]
    before: Before
    after: After
    difference: Difference
    percent: Percent
    refused: Annotated[int, count("Number of quotes that it does not price.")]


class PriceListDriftReport(ReportRecord):
    """What open quotes would cost by the price list in force now, with all else unchanged."""

    name: ClassVar[str] = "price-list-drift"
    rows: Annotated[tuple[DriftRow, ...], doc("The quotes, newest first.")]
    totals: Annotated[tuple[DriftTotals, ...], doc("The totals, by currency.")]
