"""The stock sizes of an item."""

from __future__ import annotations

from service.domain.materials.catalogue import AnyItem, Board, Fillet, Glazing, Moulding
from service.domain.measure.length import ZERO, Length


def stock_sizes(item: AnyItem | None) -> tuple[tuple[Length, Length], ...]:
    """Return the sizes an item is bought in; a stick has no height; empty if it is not cut."""
    if isinstance(item, Board | Glazing):
        return tuple((sheet.width, sheet.height) for sheet in item.sheets)
    if isinstance(item, Moulding | Fillet):
        return tuple((length, ZERO) for length in item.stick_lengths)
    return ()
