"""Catalogue items and their costs: the documents read, and the resources answered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

import orjson

from schemas.materials.records import ItemCosts, ItemRecord
from schemas.wire.base import WireField
from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.faults import refusal
from schemas.wire.fields import (
    Code,
    ExactNumber,
    OneOf,
    OwnCode,
    StrictBoolean,
    StrictInteger,
    Words,
)
from schemas.wire.figures import Json, instant
from schemas.wire.lengths import LengthField, SizeField
from schemas.wire.shown import as_sent, shown
from service.domain.bench.materials import BOARDS
from service.domain.errors import Fault, JobRefused
from service.domain.materials.catalogue import (
    AnyItem,
    Board,
    BoardUse,
    Consumable,
    CutBy,
    Fillet,
    Glazing,
    GlazingBuild,
    GlazingKind,
    Hardware,
    ItemCost,
    Kind,
    Moulding,
    Supply,
)
from service.domain.measure.ruler import Ruler

COST_BASES = ("linear_foot", "sheet", "square_foot", "piece")
PLACES: Mapping[str, Kind] = {
    "mouldings": "moulding",
    "boards": "board",
    "glazing": "glazing",
    "fillets": "fillet",
    "hardware": "hardware",
    "supplies": "supply",
}
"""The paths under /v1, which also name the CSV files, and the kind of each."""


class KindField(WireField[str]):
    """The kind of item that the document describes: always dumped, and checked if given."""

    _CHECK_ATTRIBUTE = False

    def __init__(self, kind: Kind) -> None:
        super().__init__(attribute="item_kind")
        self.kind = kind

    def json_shape(self) -> dict[str, object]:
        """Return a shape that allows only the one word."""
        return {"const": self.kind}

    def read(self, value: Any) -> str:
        """Return the kind, which the schema already knows."""
        if value != self.kind:
            raise refusal("bad_choice", f"this is a {self.kind} here; leave it out or say so")
        return self.kind

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str:
        return self.kind


class ItemDocument(Resource):
    """The fields common to all items."""

    code = OwnCode(required=True)
    description = Words(required=True)
    group = Code(shortest=0)
    discontinued = StrictBoolean()

    def make(self, values: dict[str, Any]) -> Any:
        """Return the item; its class is its kind."""
        values.pop("item_kind", None)
        return super().make(values)


class MouldingItemDocument(ItemDocument):
    """Moulding as bought."""

    makes = Moulding
    kind = KindField("moulding")
    face_width = LengthField(required=True)
    rabbet_width = LengthField(required=True)
    rabbet_depth = LengthField(required=True)
    stick_lengths = Several(LengthField(), least=1, most=20, required=True)
    weight_kg_per_m = ExactNumber(least=0, required=True)
    supplies = Several(OneOf(get_args(Supply)), least=1, most=3)
    material = Words(longest=40)
    colour = Words(longest=40)
    pattern_runs = StrictBoolean()
    floater = StrictBoolean()


class BoardItemDocument(ItemDocument):
    """Mat, mount or backing board."""

    makes = Board
    kind = KindField("board")
    thickness = LengthField(required=True)
    sheets = Several(SizeField(), least=1, most=20, required=True)
    weight_kg_per_m2 = ExactNumber(least=0, required=True)
    uses = Several(OneOf(get_args(BoardUse)), least=1, most=3)
    ply = StrictInteger(least=1, most=40, allow_none=True)
    grade = StrictInteger(least=1, most=4)
    colour = Words(longest=40)
    grain = StrictBoolean()
    cut_by = OneOf(get_args(CutBy))
    edge_trim = LengthField()
    worked_as = OneOf(("", *BOARDS))


class GlazingItemDocument(ItemDocument):
    """Glass or plastic."""

    makes = Glazing
    kind = KindField("glazing")
    material = OneOf(get_args(GlazingKind), attribute="kind", required=True)
    thickness = LengthField(required=True)
    sheets = Several(SizeField(), least=1, most=20, required=True)
    uv_percent = ExactNumber(least=0, most=100, allow_none=True)
    uv_range = Words(longest=40)
    finish = Words(longest=40)
    build = OneOf(get_args(GlazingBuild))
    density_kg_per_m3 = ExactNumber(least=0, most=25_000)
    grain = StrictBoolean()
    cut_by = OneOf(get_args(CutBy))
    edge_trim = LengthField()


class FilletItemDocument(ItemDocument):
    """A thin lining of a window or a rabbet."""

    makes = Fillet
    kind = KindField("fillet")
    width = LengthField(required=True)
    depth = LengthField(required=True)
    stick_lengths = Several(LengthField(), least=1, most=20, required=True)
    weight_kg_per_m = ExactNumber(least=0, required=True)


class HardwareItemDocument(ItemDocument):
    """What a frame hangs by."""

    makes = Hardware
    kind = KindField("hardware")
    role = OneOf(("wire", "hanger", "hook"), required=True)
    rating_kg = ExactNumber(least=0, required=True)


class SupplyItemDocument(ItemDocument):
    """Tape, spacer, dust cover and the like."""

    makes = Consumable
    kind = KindField("supply")
    thickness = LengthField()
    grade = StrictInteger(least=1, most=4)


class CostDocument(Resource):
    """What an item costs the shop; for keys that may see costs."""

    makes = ItemCost
    item = Code(required=True)
    basis = OneOf(COST_BASES, required=True)
    cost = ExactNumber(least=0, required=True)
    sheet = SizeField(allow_none=True)


ITEM_DOCUMENTS: Mapping[Kind, ItemDocument] = {
    "moulding": MouldingItemDocument(),
    "board": BoardItemDocument(),
    "glazing": GlazingItemDocument(),
    "fillet": FilletItemDocument(),
    "hardware": HardwareItemDocument(),
    "supply": SupplyItemDocument(),
}
KIND_OF: Mapping[type[AnyItem], Kind] = {
    Moulding: "moulding",
    Board: "board",
    Glazing: "glazing",
    Fillet: "fillet",
    Hardware: "hardware",
    Consumable: "supply",
}
COST_DOCUMENT = CostDocument()


def load_item(document: object, *, kind: str = "", unit: str = "in") -> AnyItem:
    """Return the item in a document; of `kind`, or of the kind that the document states.

    Raises:
        JobRefused: with every fault found.
    """
    named = kind or (document.get("kind") if isinstance(document, Mapping) else None)
    for known, schema in ITEM_DOCUMENTS.items():
        if named == known:
            item: AnyItem = read(schema, document, unit=unit)
            return item
    told = f"say the kind of the item: {', '.join(ITEM_DOCUMENTS)}"
    raise JobRefused([Fault("/kind", "bad_choice", told)])


def dump_item(item: AnyItem) -> dict[str, Any]:
    """Return the document of an item, which `load_item` reads back."""
    return _dump(ITEM_DOCUMENTS[KIND_OF[type(item)]], item)


def load_cost(document: object, *, unit: str = "in") -> ItemCost:
    """Return the cost of an item.

    Raises:
        JobRefused: with every fault found.
    """
    cost: ItemCost = read(COST_DOCUMENT, document, unit=unit)
    return cost


def dump_cost(cost: ItemCost) -> dict[str, Any]:
    """Return the document of a cost, which `load_cost` reads back."""
    return _dump(COST_DOCUMENT, cost)


def _dump(schema: Document, value: object) -> dict[str, Any]:
    document: dict[str, Any] = schema.dump(value)
    return document


TOLD = ("version", "updated_at")
"""The fields of an item that answers contain and requests do not; ignored when sent back."""


class ItemCostsDocument(Resource):
    """What an item costs, in the order in which the costs are looked at."""

    item = Code()
    costs = Several(Part(CostDocument), most=20, required=True)


def item_document(record: ItemRecord, ruler: Ruler) -> Json:
    """Return an item for display, never with its costs."""
    schema = ITEM_DOCUMENTS[KIND_OF[type(record.item)]]
    return {
        **shown(schema, record.item, ruler),
        "version": record.version,
        "updated_at": instant(record.updated_at),
    }


def read_item(document: Any, kind: Kind, unit: str, code: str = "") -> AnyItem:
    """Return the item in a document sent for a new one, or for the item `code`.

    Raises:
        JobRefused: with every fault found; among them a code other than the item's own.
    """
    plain = as_sent(document, TOLD)
    if code and isinstance(plain, Mapping):
        plain = {"code": code, **plain}
        if plain["code"] != code:
            detail = f"a code is for good; this address is that of {code}"
            raise JobRefused([Fault("/code", "bad_value", detail)])
    return load_item(plain, kind=kind, unit=unit)


def costs_shown(costs: ItemCosts, ruler: Ruler) -> Json:
    """Return the costs of an item for display to keys that may see them."""
    rows = []
    for cost in costs.costs:
        row = shown(COST_DOCUMENT, cost, ruler)
        del row["item"]
        rows.append(row)
    return {"item": costs.item, "costs": rows, "version": costs.version}


def read_costs(document: Any, code: str, unit: str) -> tuple[ItemCost, ...]:
    """Return the costs of the item `code` in a document.

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
    """Writes items and costs for the audit record; see `service.app.materials.catalogue`."""

    def item(self, item: AnyItem) -> bytes:
        """Return the item as JSON."""
        return orjson.dumps(dump_item(item))

    def costs(self, costs: tuple[ItemCost, ...]) -> bytes:
        """Return the costs as JSON."""
        return orjson.dumps({"costs": [dump_cost(cost) for cost in costs]})
