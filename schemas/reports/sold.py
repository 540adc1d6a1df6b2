"""Reports on what was sold: components, items, and the material in them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, ClassVar

from schemas.reports.facts import MaterialSum, PartSum
from schemas.reports.table import (
    From,
    Report,
    RowCurrency,
    SpannedReport,
    To,
    count,
    span_head,
)
from schemas.wire.figures import ratio
from schemas.wire.record import Record, doc, named
from schemas.wire.values import Money, Number
from service.domain.measure.money import Currency, minor_text
from service.domain.quotes.sale import MILLION
from service.domain.reports import Bucket, Span

Component = Annotated[str, doc("The component: mat, frame, glazing, …; fee for fees.")]
HavingIt = Annotated[int, count("Number of quotes accepted in the period that have it.")]
PartNet = Annotated[Money, doc("What it was sold for, after all discounts and without tax.")]


class SoldTotals(Record):
    """All rows together, in one currency."""

    currency: RowCurrency
    net: Annotated[Money, doc("The sum of the rows: `sold_net` of the same days.")]


class ComponentRow(Record):
    """A component in a period, in one currency."""

    first: From = named(name="from")
    last: To = named(name="to")
    currency: RowCurrency
    component: Component
    quotes: HavingIt
    net: PartNet


class ItemRow(Record):
    """An item in a period, in one currency."""

    first: From = named(name="from")
    last: To = named(name="to")
    currency: RowCurrency
    component: Component
    item: Annotated[str | None, doc("The code of the item or the fee; null for labour.")]
    quotes: HavingIt
    net: PartNet


class SalesByComponentReport(SpannedReport):
    """What was sold, by component."""

    name: ClassVar[str] = "sales-by-component"
    rows: Annotated[tuple[ComponentRow, ...], doc("The components, by period.")]
    totals: Annotated[tuple[SoldTotals, ...], doc("The totals, by currency.")]


class SalesByItemReport(SpannedReport):
    """What was sold, by component and item."""

    name: ClassVar[str] = "sales-by-item"
    rows: Annotated[tuple[ItemRow, ...], doc("The items, by period.")]
    totals: Annotated[tuple[SoldTotals, ...], doc("The totals, by currency.")]


UsedItem = Annotated[str, doc("The item's code.")]
Description = Annotated[
    str, doc("The item's current description; empty if it is no longer in the catalogue.")
]
UsedBasis = Annotated[str, doc("The unit of the quantity: linear_foot, square_foot, sheet, ….")]
Used = Annotated[Number, doc("The sum of the quantities in the quotes.")]


class MaterialsRow(Record):
    """An item in a period, on one basis."""

    first: From = named(name="from")
    last: To = named(name="to")
    item: UsedItem
    description: Description
    basis: UsedBasis
    quantity: Used
    quotes: Annotated[int, count("Number of quotes that use it.")]


class MaterialsTotals(Record):
    """An item in all periods, on one basis."""

    item: UsedItem
    description: Description
    basis: UsedBasis
    quantity: Used


class MaterialsReport(SpannedReport):
    """What the quotes accepted in a period use of each item, on each basis that quotes show."""

    name: ClassVar[str] = "materials"
    rows: Annotated[tuple[MaterialsRow, ...], doc("The items, by period.")]
    totals: Annotated[tuple[MaterialsTotals, ...], doc("The totals, by item and basis.")]


def components_report(span: Span, parts: Sequence[PartSum]) -> Report[ComponentRow, SoldTotals]:
    """Return the sales by component."""
    rows = [
        ComponentRow(
            *_days(span.buckets[part.bucket]),
            part.currency,
            part.component,
            part.quotes,
            minor_text(part.net, Currency(part.currency).digits),
        )
        for part in parts
    ]
    return Report(SalesByComponentReport, span_head(span), rows, _nets(span, parts))


def items_report(span: Span, parts: Sequence[PartSum]) -> Report[ItemRow, SoldTotals]:
    """Return the sales by component and item."""
    rows = [
        ItemRow(
            *_days(span.buckets[part.bucket]),
            part.currency,
            part.component,
            part.item or None,
            part.quotes,
            minor_text(part.net, Currency(part.currency).digits),
        )
        for part in parts
    ]
    return Report(SalesByItemReport, span_head(span), rows, _nets(span, parts))


def _nets(span: Span, parts: Sequence[PartSum]) -> list[SoldTotals]:
    nets: dict[str, int] = {span.shop.currency: 0}
    for part in parts:
        nets[part.currency] = nets.get(part.currency, 0) + part.net
    return [
        SoldTotals(code, minor_text(net, Currency(code).digits))
        for code, net in sorted(nets.items())
    ]


def materials_report(
    span: Span, used: Sequence[MaterialSum], described: Callable[[str], str]
) -> Report[MaterialsRow, MaterialsTotals]:
    """Return the sales as quantities of material."""
    rows = [
        MaterialsRow(
            *_days(span.buckets[use.bucket]),
            use.item,
            described(use.item),
            use.basis,
            ratio(use.millionths, MILLION),
            use.quotes,
        )
        for use in used
    ]
    whole: dict[tuple[str, str], int] = {}
    for use in used:
        whole[use.item, use.basis] = whole.get((use.item, use.basis), 0) + use.millionths
    totals = [
        MaterialsTotals(item, described(item), basis, ratio(millionths, MILLION))
        for (item, basis), millionths in sorted(whole.items())
    ]
    return Report(MaterialsReport, span_head(span), rows, totals)


def _days(bucket: Bucket) -> tuple[str, str]:
    return bucket.first.isoformat(), bucket.last.isoformat()
