"""Catalogue items as resources: an item with its version, and what it costs in a document apart."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import orjson

from schemas.materials.catalogue import (
    COST_DOCUMENT,
    ITEM_DOCUMENTS,
    KIND_OF,
    CostDocument,
    dump_cost,
    dump_item,
    load_item,
)
from schemas.materials.records import ItemCosts, ItemRecord
from schemas.quotes.answer import instant
from schemas.wire.document import Part, Resource, Several, read
from schemas.wire.fields import Code
from schemas.wire.figures import Json
from schemas.wire.shown import as_sent, shown
from service.domain.errors import Fault, JobRefused
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind
from service.domain.measure.ruler import Ruler

TOLD = ("version", "updated_at")
"""What an answer tells of an item and nobody sets; taken back and passed over."""


class ItemCostsDocument(Resource):
    """What an item costs, in the order in which the costs are looked at."""

    item = Code()
    costs = Several(Part(CostDocument), most=20, required=True)


def item_document(record: ItemRecord, ruler: Ruler) -> Json:
    """An item as it is shown; never with its costs."""
    schema = ITEM_DOCUMENTS[KIND_OF[type(record.item)]]
    return {
        **shown(schema, record.item, ruler),
        "version": record.version,
        "updated_at": instant(record.updated_at),
    }


def read_item(document: Any, kind: Kind, unit: str, code: str = "") -> AnyItem:
    """The item that a document sent for a new one, or for the item `code`, describes.

    Raises:
        JobRefused: with every fault found; among them another code than the item's own.
    """
    plain = as_sent(document, TOLD)
    if code and isinstance(plain, Mapping):
        plain = {"code": code, **plain}
        if plain["code"] != code:
            detail = f"a code is for good; this address is that of {code}"
            raise JobRefused([Fault("/code", "bad_value", detail)])
    return load_item(plain, kind=kind, unit=unit)


def costs_shown(costs: ItemCosts, ruler: Ruler) -> Json:
    """What an item costs, as it is shown to those who may see it."""
    rows = []
    for cost in costs.costs:
        row = shown(COST_DOCUMENT, cost, ruler)
        del row["item"]
        rows.append(row)
    return {"item": costs.item, "costs": rows, "version": costs.version}


def read_costs(document: Any, code: str, unit: str) -> tuple[ItemCost, ...]:
    """What a document says that the item `code` costs.

    Raises:
        JobRefused: with every fault found.
    """
    plain = as_sent(document, ("version",))
    if isinstance(plain, Mapping) and isinstance(plain.get("costs"), list):
        rows = plain["costs"]
        named = [{"item": code, **row} if isinstance(row, Mapping) else row for row in rows]
        plain = {**plain, "costs": named}
    values: dict[str, Any] = read(_COSTS, plain, unit=unit)
    costs: tuple[ItemCost, ...] = values["costs"]
    others = [place for place, cost in enumerate(costs) if cost.item != code]
    told = f"these are the costs of {code}"
    if others or values.get("item", code) != code:
        pointers = [f"/costs/{place}/item" for place in others] or ["/item"]
        raise JobRefused([Fault(pointer, "bad_value", told) for pointer in pointers])
    return costs


_COSTS = ItemCostsDocument()


class ItemDocuments:
    """Writes items and costs for the record of changes; see `service.app.materials.catalogue`."""

    def item(self, item: AnyItem) -> bytes:
        """The item."""
        return orjson.dumps(dump_item(item))

    def costs(self, costs: tuple[ItemCost, ...]) -> bytes:
        """The costs."""
        return orjson.dumps({"costs": [dump_cost(cost) for cost in costs]})
