"""The documents of catalogue items and of their costs."""

from __future__ import annotations

from typing import Any, get_args

from schemas.wire.base import WireField
from schemas.wire.document import Part, Resource, Several
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
from service.domain.bench.materials import BOARDS
from service.domain.materials.catalogue import (
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

COST_BASES = ("linear_foot", "sheet", "square_foot", "piece")


class KindField(WireField[str]):
    """The kind of item that the document describes: always dumped, and checked if given."""

    _CHECK_ATTRIBUTE = False

    def __init__(self, kind: Kind) -> None:
        super().__init__(attribute="item_kind", means="The kind of the item.")
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

    code = OwnCode(
        required=True,
        means=(
            "The shop's own code, unique among all items; it never changes. It contains no slash."
        ),
    )
    description = Words(required=True, means="The item's description.")
    group = Code(shortest=0, means="Its price group, by which a price rule can name many items.")
    discontinued = StrictBoolean(
        means=("True if it is no longer sold. New jobs cannot use it; stored quotes keep it.")
    )

    def make(self, values: dict[str, Any]) -> Any:
        """Return the item; its class is its kind."""
        values.pop("item_kind", None)
        return super().make(values)


class MouldingItemDocument(ItemDocument):
    """Moulding as bought."""

    makes = Moulding
    kind = KindField("moulding")
    face_width = LengthField(required=True, means="The full width, seen from the front.")
    rabbet_width = LengthField(
        required=True,
        means="The width of the lip that covers the package; 0 for a floater profile.",
    )
    rabbet_depth = LengthField(required=True, means="The depth of the rabbet.")
    stick_lengths = Several(
        LengthField(), least=1, most=20, required=True, means="The lengths of the sticks as bought."
    )
    weight_kg_per_m = ExactNumber(least=0, required=True, means="Its weight, in kg per metre.")
    supplies = Several(
        OneOf(get_args(Supply)),
        least=1,
        most=3,
        means="How it is sold: as a length of stick, chopped to size, or joined.",
    )
    material = Words(longest=40, means="The material.")
    colour = Words(longest=40, means="The colour.")
    pattern_runs = StrictBoolean(means="True if all rails of a frame should come from one stick.")
    floater = StrictBoolean(
        means="True for a profile that stands off the picture and covers nothing."
    )
    height = LengthField(
        means="The whole height from front to back, by which a frame round it is checked; 0 if it "
        "is not known."
    )


class BoardItemDocument(ItemDocument):
    """Mat, mount or backing board."""

    makes = Board
    kind = KindField("board")
    thickness = LengthField(required=True, means="The thickness.")
    sheets = Several(
        SizeField(), least=1, most=20, required=True, means="The sizes of the sheets as bought."
    )
    weight_kg_per_m2 = ExactNumber(
        least=0, required=True, means="Its weight, in kg per square metre."
    )
    uses = Several(
        OneOf(get_args(BoardUse)),
        least=1,
        most=3,
        means="What it is used for: mat, mount or backing.",
    )
    ply = StrictInteger(
        least=1, most=40, allow_none=True, means="The number of plies, if it is sold by them."
    )
    grade = StrictInteger(
        least=1, most=4, means="Its preservation grade, from 1 (preserves most) to 4."
    )
    colour = Words(longest=40, means="The colour.")
    grain = StrictBoolean(means="True if pieces must not be turned on the sheet.")
    cut_by = OneOf(
        get_args(CutBy),
        means=(
            "The tool that cuts it to size. `scored` has no kerf; `saw` and `table` "
            "have that of the shop's settings. Default: scored."
        ),
    )
    edge_trim = LengthField(means="What is trimmed off each edge of a new sheet. Default: 0.")
    worked_as = OneOf(
        ("", *BOARDS),
        means="The material that the bench works it as. Empty: its plies and its tool decide.",
    )


class GlazingItemDocument(ItemDocument):
    """Glass or plastic."""

    makes = Glazing
    kind = KindField("glazing")
    material = OneOf(get_args(GlazingKind), attribute="kind", required=True, means="The material.")
    thickness = LengthField(required=True, means="The thickness.")
    sheets = Several(
        SizeField(), least=1, most=20, required=True, means="The sizes of the sheets as bought."
    )
    uv_percent = ExactNumber(
        least=0,
        most=100,
        allow_none=True,
        means=("The share of ultraviolet that it blocks, in percent; goes with `uv_range`."),
    )
    uv_range = Words(longest=40, means="The wavelengths over which that was measured.")
    finish = Words(longest=40, means="Its finish, such as clear or etched.")
    build = OneOf(
        get_args(GlazingBuild),
        means=(
            "How it is made, on which its cutting depends: plain, coated, laminated or a mirror. "
            "Default: plain."
        ),
    )
    density_kg_per_m3 = ExactNumber(
        least=0,
        most=25_000,
        means=("Its density, in kg per cubic metre; that of its material if it is left out or 0."),
    )
    grain = StrictBoolean(means="True if pieces must not be turned on the sheet.")
    cut_by = OneOf(
        get_args(CutBy),
        means=(
            "The tool that cuts it to size. `scored` has no kerf; `saw` and `table` "
            "have that of the shop's settings. Default: scored."
        ),
    )
    edge_trim = LengthField(means="What is trimmed off each edge of a new sheet. Default: 0.")


class FilletItemDocument(ItemDocument):
    """A thin lining of a window or a rabbet."""

    makes = Fillet
    kind = KindField("fillet")
    width = LengthField(required=True, means="The width that shows.")
    depth = LengthField(required=True, means="The depth that it adds to the stack.")
    stick_lengths = Several(
        LengthField(), least=1, most=20, required=True, means="The lengths of the sticks as bought."
    )
    weight_kg_per_m = ExactNumber(least=0, required=True, means="Its weight, in kg per metre.")


class HardwareItemDocument(ItemDocument):
    """What a frame hangs by."""

    makes = Hardware
    kind = KindField("hardware")
    role = OneOf(("wire", "hanger", "hook"), required=True, means="Its function on a job.")
    rating_kg = ExactNumber(
        least=0, required=True, means="The rating on the packet, for one fitted set."
    )


class SupplyItemDocument(ItemDocument):
    """Tape, spacer, dust cover and the like."""

    makes = Consumable
    kind = KindField("supply")
    thickness = LengthField(means="The thickness.")
    grade = StrictInteger(
        least=1, most=4, means="Its preservation grade, from 1 (preserves most) to 4."
    )


class CostDocument(Resource):
    """What an item costs the shop; for keys that may see costs."""

    makes = ItemCost
    item = Code(required=True, means="The item's code; by default that of the address.")
    basis = OneOf(COST_BASES, required=True, means="The unit that the cost is for.")
    cost = ExactNumber(
        least=0, required=True, means="The cost of one unit, in the shop's currency."
    )
    sheet = SizeField(allow_none=True, means="The size of the sheet, if the cost is for a sheet.")


class ItemCostsDocument(Resource):
    """What an item costs, in the order in which the costs are looked at."""

    item = Code(means="The item's code; by default that of the address.")
    costs = Several(
        Part(CostDocument),
        most=20,
        required=True,
        means=("The costs, in order of precedence: the first whose basis fits a use applies."),
    )
