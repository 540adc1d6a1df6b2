"""Catalogue documents: what the shop sells, and what it costs the shop.

Every item says its `kind`, so that a document by itself is enough to know what it is. Glazing has a
kind of its own in the domain; on the wire that is its `material`, as a moulding has one too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from schemas.wire.document import Document, Resource, Several, read
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
from schemas.wire.lengths import LengthField, SizeField
from schemas.wire.wire_field import WireField
from service.domain.errors import Fault, JobRefused
from service.domain.materials.catalogue import (
    AnyItem,
    Board,
    BoardUse,
    Consumable,
    CutBy,
    Fillet,
    Glazing,
    GlazingKind,
    Hardware,
    ItemCost,
    Kind,
    Moulding,
    Supply,
)

COST_BASES = ("linear_foot", "sheet", "square_foot", "piece")
PLACES: Mapping[str, Kind] = {
    "mouldings": "moulding",
    "boards": "board",
    "glazing": "glazing",
    "fillets": "fillet",
    "hardware": "hardware",
    "supplies": "supply",
}
"""The addresses under /v1, as the CSV files are named too, and the kind that each is of."""


class KindField(WireField[str]):
    """What kind of item the document is of: always told, and checked where it is given."""

    _CHECK_ATTRIBUTE = False

    def __init__(self, kind: Kind) -> None:
        super().__init__(attribute="item_kind")
        self.kind = kind

    def json_shape(self) -> dict[str, object]:
        """The one word."""
        return {"const": self.kind}

    def read(self, value: Any) -> str:
        """The kind, which the schema knows already."""
        if value != self.kind:
            raise refusal("bad_choice", f"this is a {self.kind} here; leave it out or say so")
        return self.kind

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> str:
        return self.kind


class ItemDocument(Resource):
    """What every item has."""

    code = OwnCode(required=True)
    description = Words(required=True)
    group = Code(shortest=0)
    discontinued = StrictBoolean()

    def make(self, values: dict[str, Any]) -> Any:
        """The item; its kind is its class."""
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
    """The item that a document describes; of `kind`, or of the kind that the document says.

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
    """The document of an item, from which `load_item` makes an equal one."""
    return _dump(ITEM_DOCUMENTS[KIND_OF[type(item)]], item)


def load_cost(document: object, *, unit: str = "in") -> ItemCost:
    """What an item costs.

    Raises:
        JobRefused: with every fault found.
    """
    cost: ItemCost = read(COST_DOCUMENT, document, unit=unit)
    return cost


def dump_cost(cost: ItemCost) -> dict[str, Any]:
    """The document of a cost, from which `load_cost` makes an equal one."""
    return _dump(COST_DOCUMENT, cost)


def _dump(schema: Document, value: object) -> dict[str, Any]:
    document: dict[str, Any] = schema.dump(value)
    return document
