"""The shop's document: all its settings; omitted ones keep the domain's defaults.

A dumped document contains every setting, so that a shop sees what it can change.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from schemas.wire.base import WireField
from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.faults import refusal
from schemas.wire.fields import (
    Code,
    DateField,
    ExactNumber,
    OneOf,
    StrictBoolean,
    StrictInteger,
    Words,
    currency_of,
)
from schemas.wire.figures import Json
from schemas.wire.lengths import UNITS, LengthField, SizeField
from schemas.wire.shown import as_sent, shown
from service.domain.bench.materials import MATERIALS, WAYS
from service.domain.measure.ruler import Ruler
from service.domain.shop import (
    COVERS,
    DRIVERS,
    FRAME_MEASURES,
    MEASURES,
    METHOD_STAGES,
    SHARES_BY,
    STOCK_VALUES,
    Bench,
    Billing,
    ClearanceStep,
    DiscountLimit,
    FrameUse,
    Hanging,
    Joining,
    MaterialWay,
    Method,
    Ordering,
    Safety,
    Shop,
    Sizing,
    SupplyUse,
    Taxation,
    TaxRate,
)


class CurrencyCode(WireField[str]):
    """An ISO 4217 code of a supported currency."""

    def json_shape(self) -> dict[str, object]:
        """Return a pattern of three capital letters."""
        return {"type": "string", "pattern": "^[A-Z]{3}$"}

    def read(self, value: Any) -> str:
        """Return the code."""
        return currency_of(value).code


class TimeZoneField(WireField[str]):
    """The IANA name of a time zone, in which the shop's days begin and end."""

    def json_shape(self) -> dict[str, object]:
        """Return the shape of a name such as Europe/Lisbon."""
        return {"type": "string", "maxLength": 64}

    def read(self, value: Any) -> str:
        """Return the name of a zone in this machine's time zone data."""
        if type(value) is str and 0 < len(value) <= 64:
            try:
                return ZoneInfo(value).key
            except (OSError, ValueError, LookupError):
                pass  # not a zone, or not a valid name
        raise refusal("bad_choice", "a time zone is an IANA name, as in Europe/Lisbon")


class RulerDocument(Document):
    """What the bench reads lengths off."""

    makes = Ruler
    unit = OneOf(UNITS, required=True)
    step = LengthField(required=True)


class ClearanceDocument(Document):
    """The allowance of plastics over a length."""

    makes = ClearanceStep
    over = LengthField(required=True)
    allowance = LengthField(required=True)


class SizingDocument(Document):
    """How sizes follow from the art."""

    makes = Sizing
    allowance = LengthField()
    plastic_clearance = Several(Part(ClearanceDocument), most=20)
    overlap = LengthField()
    reveal = LengthField()
    float_margin = LengthField()
    gap = LengthField()
    under_mat_trim = LengthField()
    smallest_bar = LengthField()
    room_behind = LengthField()
    spacer = LengthField()
    object_clearance = LengthField()


class MaterialWayDocument(Document):
    """How the shop cuts a material, where not in the usual way."""

    makes = MaterialWay
    material = OneOf(tuple(MATERIALS), required=True)
    cut_by = OneOf(tuple(WAYS), required=True)


class BenchDocument(Document):
    """The reach of the board cutter and the saw's figures."""

    makes = Bench
    squaring_arm = LengthField()
    rail = LengthField()
    widest_guide = LengthField()
    thickest_board = LengthField()
    thickest_bevel = LengthField()
    standard_head = LengthField()
    stops = StrictBoolean()
    stops_from_quantity = StrictInteger(least=1)
    acrylic_passes = StrictInteger(least=1, most=20)
    thickest_snap = LengthField()
    saw_kerf = LengthField()
    stick_end_trim = LengthField()
    offcut_short = LengthField()
    offcut_long = LengthField()
    offcut_stick = LengthField()
    stock_on_hand = OneOf(STOCK_VALUES)
    panel_kerf = LengthField()
    table_kerf = LengthField()
    panel_reach = LengthField()
    table_reach = LengthField()
    table_passes = StrictInteger(least=1, most=20)
    ways = Several(Part(MaterialWayDocument), most=20)


class BillingDocument(Document):
    """How exact quantities become billed ones."""

    makes = Billing
    united_inches = OneOf(("sum", "sides"))
    square_foot_step = ExactNumber(least=0)
    square_foot_minimum = ExactNumber(least=0)
    linear_foot_step = ExactNumber(least=0)
    linear_foot_minimum = ExactNumber(least=0)
    perimeter_foot_step = ExactNumber(least=0)
    minute_step = ExactNumber(least=0)
    sheet_shares = Several(ExactNumber(least=0, most=1), least=1, most=20)
    sheet_share_by = OneOf(SHARES_BY)


class SlenderDocument(Document):
    """From so many united inches on, a face narrower than this is slender."""

    united_inches = ExactNumber(least=0, required=True)
    face_width = LengthField(required=True)

    def make(self, values: dict[str, Any]) -> Any:
        """Return the pair that the domain uses."""
        return values["united_inches"], values["face_width"]


class SlenderField(Several):
    """Pairs in the domain, objects with named fields on the wire."""

    def _serialize(self, value: Any, attr: Any, obj: Any, **kwargs: Any) -> Any:
        pairs = [{"united_inches": over, "face_width": face} for over, face in value or ()]
        return super()._serialize(pairs, attr, obj, **kwargs)


class SafetyDocument(Document):
    """Where the shop's warnings start."""

    makes = Safety
    glass_largest = SizeField()
    hardware_factor = ExactNumber(least=1)
    heavy_kg = ExactNumber(least=0)
    installer_kg = ExactNumber(least=0)
    two_person_united_inches = ExactNumber(least=0)
    slender_face = SlenderField(Part(SlenderDocument), most=20)
    slender_weight_kg = ExactNumber(least=0)


class HangingDocument(Document):
    """Where rings sit, and how a wire is measured."""

    makes = Hanging
    ring_parts = ExactNumber(least=2, most=100)
    ring_inset = LengthField()
    wire_parts = ExactNumber(least=2, most=100)
    wire_below = LengthField()
    wire_knot = LengthField()
    wire_step = LengthField()


class UseDocument(Document):
    """So much of an item, or of hardware of a role, per unit of a measure."""

    makes = SupplyUse
    item = Code(shortest=0)
    role = OneOf(("", "wire", "hanger", "hook"))
    covers = OneOf(COVERS)
    measure = OneOf(MEASURES, required=True)
    per_unit = ExactNumber(least=0, required=True)


class MethodDocument(Document):
    """A way of mounting or finishing."""

    makes = Method
    code = Code(required=True)
    description = Words(required=True)
    driver = OneOf(("", *DRIVERS), required=True)
    uses = Several(Part(UseDocument), most=20)
    reversible = StrictBoolean()
    stage = OneOf(METHOD_STAGES)
    wait = Words()


class FrameUseDocument(Document):
    """So much of an item for a frame, its corners or its sides."""

    makes = FrameUse
    item = Code(required=True)
    measure = OneOf(FRAME_MEASURES, required=True)
    per_unit = ExactNumber(least=0)
    least = ExactNumber(least=0)


class JoiningDocument(Document):
    """What frames of a material are joined and closed with."""

    makes = Joining
    material = Words(shortest=1, longest=40, required=True)
    uses = Several(Part(FrameUseDocument), least=1, most=20, required=True)


class TaxRateDocument(Document):
    """One rate of tax."""

    makes = TaxRate
    category = Code(required=True)
    name = Words(longest=80, shortest=1, required=True)
    percent = ExactNumber(least=0, most=100, required=True)
    place = Code(shortest=0)


class TaxationDocument(Document):
    """How tax is laid on."""

    makes = Taxation
    included = StrictBoolean()
    rounded = OneOf(("invoice", "line"))
    rates = Several(Part(TaxRateDocument))
    untaxed = Several(Code())


class OrderingDocument(Document):
    """What accepting a quote means; working minutes from Monday to Sunday."""

    makes = Ordering
    deposit_percent = ExactNumber(least=0, most=100)
    working_minutes = Several(StrictInteger(most=1_440), least=7, most=7)
    closed_days = Several(DateField(), most=1_000)
    lead_days = StrictInteger(most=365)


class DiscountLimitDocument(Document):
    """How much off keys with a scope may give."""

    makes = DiscountLimit
    scope = OneOf(("price", "counter"), required=True)
    percent = ExactNumber(least=0, most=100, required=True)


class ShopDocument(Resource):
    """One shop."""

    makes = Shop
    code = Code(required=True)
    name = Words(shortest=1, longest=120, required=True)
    currency = CurrencyCode(required=True)
    time_zone = TimeZoneField(required=True)
    ruler = Part(RulerDocument, required=True)
    quote_valid_days = StrictInteger(least=1, most=3_650)
    discount_limits = Several(Part(DiscountLimitDocument), most=2)
    sizing = Part(SizingDocument)
    bench = Part(BenchDocument)
    billing = Part(BillingDocument)
    safety = Part(SafetyDocument)
    taxation = Part(TaxationDocument)
    ordering = Part(OrderingDocument)
    hanging = Part(HangingDocument)
    mounting = Several(Part(MethodDocument))
    finishing = Several(Part(MethodDocument))
    joining = Several(Part(JoiningDocument), most=50)


SHOP_DOCUMENT = ShopDocument()


def load_shop(document: object) -> Shop:
    """Return the shop that a document describes; its bare lengths are in its ruler's unit.

    Raises:
        JobRefused: with every fault found.
    """
    ruler = document.get("ruler") if isinstance(document, dict) else None
    unit = ruler.get("unit") if isinstance(ruler, dict) else None
    shop: Shop = read(SHOP_DOCUMENT, document, unit=unit if unit in UNITS else "in")
    return shop


def dump_shop(shop: Shop) -> dict[str, Any]:
    """Return the document of a shop with every setting, which `load_shop` reads back."""
    document: dict[str, Any] = SHOP_DOCUMENT.dump(shop)
    return document


def shop_document(record: ShopRecord) -> Json:
    """Return the settings for display."""
    document = shown(SHOP_DOCUMENT, record.shop, record.shop.ruler)
    return {**document, "version": record.settings_version}


def read_shop(document: Any) -> Shop:
    """Return the settings that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    return load_shop(as_sent(document, ("version",)))


@dataclass(frozen=True, slots=True)
class ShopRecord:
    """A shop as stored.

    `version` grows with every change of its settings, items or prices, `settings_version` only with
    those of its settings.
    """

    id: str
    version: int
    shop: Shop
    settings_version: int
