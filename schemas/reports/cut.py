"""The report on cutting: the stock that plans take, and what becomes of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Annotated, ClassVar

from schemas.reports.facts import CutSum
from schemas.reports.table import From, Report, SpannedReport, To, count, span_head
from schemas.wire.figures import number
from schemas.wire.record import Record, doc, growing, named
from schemas.wire.values import Number
from service.domain.measure.length import TICKS_PER_FOOT
from service.domain.reports import Span

CutItem = Annotated[str, doc("The item's code.")]
Description = Annotated[
    str, doc("The item's current description; empty if it is no longer in the catalogue.")
]
Unit = Annotated[
    str, growing(("square_foot", "linear_foot"), "The unit of the quantities of the row.")
]
New = Annotated[int, count("Number of sheets or sticks that are not offcuts.")]
Racked = Annotated[int, count("Number of offcuts from the rack.")]
Taken = Annotated[Number, doc("The quantity of all these sheets, sticks and offcuts.")]
Made = Annotated[Number, doc("What of it becomes pieces.")]
Kept = Annotated[Number, doc("What of it goes back on the rack.")]
Waste = Annotated[Number, doc("The rest, with kerf and trims.")]
Yield = Annotated[
    Number,
    doc("`made` as a share of what does not go back on the rack, 0 to 1; the rest is waste."),
]


class CuttingRow(Record):
    """An item in a period."""

    first: From = named(name="from")
    last: To = named(name="to")
    item: CutItem
    description: Description
    unit: Unit
    plans: Annotated[int, count("Number of committed plans that cut it.")]
    new: New
    offcuts: Racked
    taken: Taken
    made: Made
    kept: Kept
    waste: Waste
    utilisation: Yield


class CuttingTotals(Record):
    """An item in all periods."""

    item: CutItem
    description: Description
    unit: Unit
    new: New
    offcuts: Racked
    taken: Taken
    made: Made
    kept: Kept
    waste: Waste
    utilisation: Yield


class CuttingReport(SpannedReport):
    """What committed cutting plans make of each item's stock."""

    name: ClassVar[str] = "cutting"
    rows: Annotated[tuple[CuttingRow, ...], doc("The items, by period.")]
    totals: Annotated[tuple[CuttingTotals, ...], doc("The totals, by item.")]


def cutting_report(
    span: Span, cut: Sequence[CutSum], described: Callable[[str], str]
) -> Report[CuttingRow, CuttingTotals]:
    """Return the use of stock by item and period."""
    rows = [
        CuttingRow(
            span.buckets[one.bucket].first.isoformat(),
            span.buckets[one.bucket].last.isoformat(),
            one.item,
            described(one.item),
            _unit(one.kind),
            one.plans,
            *_amounts(one.kind, one[4:]),
        )
        for one in cut
    ]
    whole: dict[tuple[str, str], tuple[int, ...]] = {}
    for one in cut:
        before = whole.get((one.item, one.kind), (0,) * len(one[4:]))
        whole[one.item, one.kind] = tuple(a + b for a, b in zip(before, one[4:], strict=True))
    totals = [
        CuttingTotals(item, described(item), _unit(kind), *_amounts(kind, whole[item, kind]))
        for item, kind in sorted(whole)
    ]
    return Report(CuttingReport, span_head(span), rows, totals)


def _unit(kind: str) -> str:
    return "square_foot" if kind == "sheet" else "linear_foot"


def _amounts(kind: str, sums: Sequence[int]) -> tuple[int, int, str, str, str, str, str]:
    """Return the counts, the quantities in feet, and the share that becomes pieces."""
    new, racked, taken, made, kept = sums
    per_foot = TICKS_PER_FOOT**2 if kind == "sheet" else TICKS_PER_FOOT
    shares = (Fraction(part, per_foot) for part in (taken, made, kept, taken - made - kept))
    of_all, of_pieces, of_rack, of_waste = map(number, shares)
    return new, racked, of_all, of_pieces, of_rack, of_waste, number(Fraction(made, taken - kept))
