"""The report on what to buy."""

from __future__ import annotations

from typing import Annotated, ClassVar

from schemas.reports.table import MaybeMany, MaybeNumber, ReportRecord, count
from schemas.wire.record import Record, doc
from schemas.wire.values import Number


class PurchasesRow(Record):
    """An item that open tickets need."""

    item: Annotated[str, doc("The item's code.")]
    description: Annotated[
        str, doc("The item's description; empty if it is no longer in the catalogue.")
    ]
    supply: Annotated[
        str,
        doc(
            "cut: from sheets or sticks; bought_cut: frames that are bought chopped or joined; "
            "counted: hardware and supplies."
        ),
    ]
    pieces: Annotated[
        MaybeMany, doc("Pieces still to be cut, or bought cut; null for what is counted.")
    ]
    basis: Annotated[str, doc("The unit of the quantities: square_foot, linear_foot, piece.")]
    needed: Annotated[Number, doc("The least that the tickets need.")]
    in_stock: Annotated[
        MaybeNumber, doc("The stock of whole sheets or sticks; null if it is not counted.")
    ]
    on_rack: Annotated[MaybeNumber, doc("The offcuts, which a cutting plan may use.")]
    lacking: Annotated[Number, doc("`needed` - `in_stock`, at least 0.")]
    at_least: Annotated[
        MaybeMany, doc("The least number of the largest sheets or sticks to buy for that.")
    ]
    size: Annotated[
        str | None, doc("The size of that sheet or stick, as the shop's ruler shows it.")
    ]


class PurchasesTotals(Record):
    """All open tickets."""

    tickets: Annotated[int, count("Number of tickets that are waiting or in work.")]
    items: Annotated[int, count("Number of items of which something is lacking.")]


class PurchasesReport(ReportRecord):
    """What open tickets still need of each item, less what is in stock."""

    name: ClassVar[str] = "purchases"
    rows: Annotated[tuple[PurchasesRow, ...], doc("The items.")]
    totals: Annotated[tuple[PurchasesTotals, ...], doc("One row of totals.")]
