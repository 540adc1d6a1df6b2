"""What answers say of offcuts and stock, as records."""

from __future__ import annotations

from typing import Annotated, TypedDict

from schemas.materials.records import OFFCUT_LIFE
from schemas.wire.figures import Figures
from schemas.wire.record import UNSET, Record, Unset, at_least, doc, growing
from schemas.wire.values import Instant, Length, Next
from service.domain.measure import length

Width = Annotated[Length, doc("A sheet's width.")]
Height = Annotated[Length, doc("A sheet's height.")]
StickLength = Annotated[Length, doc("A stick's length, long point to long point.")]


class Extent(TypedDict, total=False):
    """The fields of a sheet's width and height, or of a stick's length."""

    width: Length
    height: Length
    length: Length


def extent_of(width: length.Length, height: length.Length, figures: Figures) -> Extent:
    """Return a sheet's width and height, or a stick's length."""
    if height:
        return {"width": figures.length(width), "height": figures.length(height)}
    return {"length": figures.length(width)}


class OffcutShown(Record, kw_only=True):
    """An offcut."""

    id: Annotated[str, doc("Its id.")]
    label: Annotated[str, doc("Its rack label, with a check digit: R100014.")]
    item: Annotated[str, doc("The item's code.")]
    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    status: Annotated[str, growing(OFFCUT_LIFE.states, "Its state.")]
    place: Annotated[str, doc("Its place on the rack.")]
    reason: Annotated[str, doc("Why it was discarded.")]
    cut_by: Annotated[
        str | None, doc("The number of the cutting plan that left it; null if there is none.")
    ]
    used_by: Annotated[
        str | None, doc("The number of the cutting plan that used it; null if there is none.")
    ]
    created_at: Annotated[Instant, doc("When it was put on the rack (RFC 3339, UTC).")]
    updated_at: Annotated[Instant, doc("When it last changed (RFC 3339, UTC).")]


class OffcutList(Record):
    """A page of offcuts, newest first."""

    items: Annotated[tuple[OffcutShown, ...], doc("The offcuts.")]
    next: Next


class StockCount(Record, kw_only=True):
    """The stock of one size."""

    width: Width | Unset = UNSET
    height: Height | Unset = UNSET
    length: StickLength | Unset = UNSET
    quantity: Annotated[int | None, doc("The number in stock; null if it is not counted.")]


class StockShown(Record):
    """The stock of an item, by size."""

    item: Annotated[str, doc("The item's code.")]
    sizes: Annotated[tuple[StockCount, ...], doc("Every size of the item.")]
    version: Annotated[int, at_least(0, "Grows with every change; the number in the `ETag`.")]


class StockList(Record):
    """The stock of every item that has a counted size."""

    items: Annotated[tuple[StockShown, ...], doc("The items, by code.")]
    next: Next
