"""What a plan makes of each item's stock, added up from its document."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import orjson

from schemas.materials.records import ItemCut
from schemas.wire.lengths import exact_length


def items_cut(document: bytes) -> tuple[ItemCut, ...]:
    """Return what a stored plan takes, makes and keeps of each item that it uses."""
    items = orjson.loads(document)["items"]
    return tuple(_item_cut(item) for item in items if item["uses"])


def _item_cut(item: Mapping[str, Any]) -> ItemCut:
    uses = item["uses"]
    racked = sum(use["source"] == "rack" for use in uses)
    left = [part for use in uses for part in use["leftovers"] if part["keep"]]
    return ItemCut(
        item=item["item"],
        kind=item["kind"],
        new=len(uses) - racked,
        racked=racked,
        taken=_together(uses),
        made=_together(piece for use in uses for piece in use["placements"]),
        kept=_together(left),
    )


def _together(parts: Iterable[Mapping[str, Any]]) -> int:
    """Return their areas in square ticks, or lengths in ticks, added up."""
    return sum(_extent(part) for part in parts)


def _extent(part: Mapping[str, Any]) -> int:
    if "length" in part:
        return exact_length(part["length"]).ticks
    return exact_length(part["width"]).ticks * exact_length(part["height"]).ticks
