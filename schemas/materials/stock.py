"""Offcuts and stock levels as documents."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from schemas.materials.records import Offcut, StockLevel
from schemas.materials.stock_shapes import OffcutShown, StockCount, StockShown, extent_of
from schemas.wire.document import Document, Part, Resource, Several
from schemas.wire.fields import Code, StrictInteger, Words
from schemas.wire.figures import Figures, instant
from schemas.wire.lengths import LengthField
from service.domain.errors import BadValue
from service.domain.measure.length import ZERO, Length
from service.domain.shop import Shop


class OffcutRequestDocument(Resource):
    """An offcut that is put on the rack by hand."""

    item = Code(required=True, means="The item's code.")
    width = LengthField(means="A sheet's width, together with `height`.")
    height = LengthField(means="A sheet's height; grain and texture run along it.")
    length = LengthField(means="A stick's length, in place of width and height.")
    place = Words(longest=80, means="Its place on the rack.")

    def make(self, values: dict[str, Any]) -> dict[str, Any]:
        """Return the fields, with width and height; a stick has no height."""
        values.pop("units", None)
        width, height = extent(values)
        return {"place": "", **values, "width": width, "height": height}


class OffcutChangeDocument(Document):
    """Where an offcut lies now."""

    place = Words(longest=80, required=True, means="Its place on the rack from now on.")


class DiscardDocument(Document):
    """Why an offcut is thrown away."""

    reason = Words(longest=200, means="The reason.")


class StockSizeDocument(Document):
    """How many of one size there are."""

    width = LengthField(means="A sheet's width, together with `height`.")
    height = LengthField(means="A sheet's height; grain and texture run along it.")
    length = LengthField(means="A stick's length, in place of width and height.")
    quantity = StrictInteger(
        least=0,
        most=1_000_000,
        required=True,
        allow_none=True,
        means="The number in stock; null keeps the present count.",
    )

    def make(self, values: dict[str, Any]) -> tuple[Length, Length, int | None]:
        """Return the size, a stick's without height, and its count; None if not counted."""
        width, height = extent(values)
        return width, height, values["quantity"]


class StockRequestDocument(Resource):
    """How many of each size of an item there are; sizes without a count keep the one they have."""

    sizes = Several(
        Part(StockSizeDocument),
        required=True,
        means="The sizes; those left out, and those with null, keep their count.",
    )

    def make(self, values: dict[str, Any]) -> tuple[tuple[Length, Length, int], ...]:
        """Return the counts."""
        return tuple(size for size in values["sizes"] if size[2] is not None)


OFFCUT, DISCARD, STOCK = OffcutRequestDocument(), DiscardDocument(), StockRequestDocument()
OFFCUT_CHANGE = OffcutChangeDocument()


def extent(values: dict[str, Any]) -> tuple[Length, Length]:
    """Return width and height of a sheet, or a stick's length and no height.

    Raises:
        BadValue: neither, both, or a length of zero.
    """
    width, height = values.pop("width", None), values.pop("height", None)
    length = values.pop("length", None)
    sides = [side for side in (width, height, length) if side is not None]
    if any(side.ticks <= 0 for side in sides):
        raise BadValue("lengths are more than nothing", "/width" if length is None else "/length")
    if length is not None and width is None and height is None:
        return length, ZERO
    if length is None and width is not None and height is not None:
        return width, height
    raise BadValue("give width and height for a sheet, or length for a stick", "/width")


def offcut_document(offcut: Offcut, plans: Mapping[str, str], shop: Shop) -> OffcutShown:
    """Return an offcut; `plans` maps the ids of the plans that it names to their numbers."""
    return OffcutShown(
        id=offcut.id,
        label=offcut.label,
        item=offcut.item,
        **extent_of(offcut.width, offcut.height, Figures(shop.ruler)),
        status=offcut.status,
        place=offcut.place,
        reason=offcut.reason,
        cut_by=plans.get(offcut.cut_by or ""),
        used_by=plans.get(offcut.used_by or ""),
        created_at=instant(offcut.created_at),
        updated_at=instant(offcut.updated_at),
    )


def stock_document(
    item: str, sizes: Iterable[tuple[Length, Length]], levels: Sequence[StockLevel], shop: Shop
) -> StockShown:
    """Return the count of each size of an item; null if not counted."""
    counted = {(level.width, level.height): level.quantity for level in levels}
    every = [*sizes, *(size for size in counted if size not in set(sizes))]
    figures = Figures(shop.ruler)
    rows = tuple(
        StockCount(**extent_of(*size, figures), quantity=counted.get(size))
        for size in dict.fromkeys(every)
    )
    return StockShown(item, rows, stock_version(levels))


def stock_version(levels: Iterable[StockLevel]) -> int:
    """Return one version for all levels of an item: it grows with any change of them."""
    return sum(level.version for level in levels)
