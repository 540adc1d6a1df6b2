"""The parts of a shop's settings, each a document of its own."""

from __future__ import annotations

from typing import Any

from schemas.wire.document import Document, Part, Several
from schemas.wire.fields import (
    Code,
    DateField,
    ExactNumber,
    OneOf,
    StrictBoolean,
    StrictInteger,
    Words,
)
from schemas.wire.lengths import UNITS, LengthField, SizeField
from service.domain.bench.materials import MATERIALS, WAYS
from service.domain.jobs.artwork import ART_KINDS
from service.domain.jobs.job import PRESENTATIONS
from service.domain.jobs.use import COMPONENTS
from service.domain.measure.ruler import Ruler
from service.domain.prices.cash import CASH_ROUNDINGS
from service.domain.shop import (
    CONTACTS_ASKED,
    COVERS,
    DRIVERS,
    ENDINGS_AT,
    FRAME_MEASURES,
    MEASURES,
    METHOD_STAGES,
    RATES_ROUNDED,
    SHARES_BY,
    STOCK_VALUES,
    TAX_ROUNDINGS,
    Bench,
    Billing,
    Charging,
    ClearanceStep,
    ConditionTerm,
    DiscountLimit,
    FrameUse,
    Hanging,
    Joining,
    LeastMargin,
    LevelFactor,
    LineGroup,
    MaterialWay,
    Method,
    Ordering,
    PassStep,
    Preset,
    PriceEnding,
    PriceLevel,
    QuoteForm,
    Safety,
    Sizing,
    SupplyUse,
    Taxation,
    TaxRate,
)


class RulerDocument(Document):
    """What the bench reads lengths off."""

    makes = Ruler
    unit = OneOf(UNITS, required=True, means="The unit of the ruler.")
    step = LengthField(
        required=True, means="The step between two marks; lengths are shown at the nearest mark."
    )


class ClearanceDocument(Document):
    """The allowance of plastics over a length."""

    makes = ClearanceStep
    over = LengthField(required=True, means="Applies to packages whose longer side is above this.")
    allowance = LengthField(
        required=True, means="The allowance for plastics, in total per dimension."
    )


class SizingDocument(Document):
    """How sizes follow from the art."""

    makes = Sizing
    allowance = LengthField(
        means="How much larger the rabbet is than the package, in total per dimension."
    )
    plastic_clearance = Several(
        Part(ClearanceDocument),
        most=20,
        means="Larger allowances for plastics, which expand with heat.",
    )
    overlap = LengthField(
        means="Default of a job's `overlap`: how far the mat covers the art, per side."
    )
    reveal = LengthField(means="Default of a mat's `reveal`: how much of an under mat shows.")
    float_margin = LengthField(
        means=("Default of a job's `float_margin`: how much of the mount shows around floated art.")
    )
    gap = LengthField(
        means=("Default of a job's `gap`: the distance between a canvas and its floater frame.")
    )
    under_mat_trim = LengthField(means="How much smaller the blank of an under mat is, per side.")
    smallest_bar = LengthField(means="The narrowest bar between two windows without a warning.")
    room_behind = LengthField(
        means="The depth kept free behind the stack, for points and the dust cover."
    )
    spacer = LengthField(means="The depth of a spacer, if one is asked for.")
    object_clearance = LengthField(
        means="The distance kept free between an object and the glazing."
    )


class MaterialWayDocument(Document):
    """How the shop cuts a material, if not in the usual way."""

    makes = MaterialWay
    material = OneOf(tuple(MATERIALS), required=True, means="The material.")
    cut_by = OneOf(
        tuple(WAYS), required=True, means="How this shop cuts it; `order`: it comes cut to size."
    )


class PassStepDocument(Document):
    """The passes of the blade through thick mat board."""

    makes = PassStep
    over = LengthField(required=True, means="Applies to mat board thicker than this.")
    passes = StrictInteger(
        least=1, most=20, required=True, means="How often the blade goes over each cut."
    )


class BenchDocument(Document):
    """The reach of the board cutter and the saw's figures."""

    makes = Bench
    squaring_arm = LengthField(means="The reach of the squaring arm.")
    rail = LengthField(means="The length of the guide rail.")
    widest_guide = LengthField(means="The widest setting of the mat guide.")
    thickest_board = LengthField(means="The thickest board that the cutter takes.")
    thickest_bevel = LengthField(means="The thickest board that it cuts at an angle.")
    standard_head = LengthField(means="The thickness that the standard cutting head is made for.")
    stops = StrictBoolean(means="True if the cutter has stops for repeated cuts.")
    stops_from_quantity = StrictInteger(
        least=1, means="The number of equal pieces from which the stops are set."
    )
    acrylic_passes = StrictInteger(
        least=1, most=20, means="How often acrylic is scored before it is broken."
    )
    thickest_snap = LengthField(
        means="The thickest acrylic that is scored and snapped; thicker acrylic is sawn."
    )
    saw_kerf = LengthField(means="The kerf of the saw.")
    stick_end_trim = LengthField(means="What is cut off the end of a stick.")
    offcut_short = LengthField(
        means="The least short side of a sheet's offcut that goes back on the rack."
    )
    offcut_long = LengthField(
        means="The least long side of a sheet's offcut that goes back on the rack."
    )
    offcut_stick = LengthField(
        means="The least length of a stick's offcut that goes back on the rack."
    )
    stock_on_hand = OneOf(
        STOCK_VALUES,
        means=("How a cutting plan counts stock that the shop has: at its `cost`, or as `free`."),
    )
    panel_kerf = LengthField(means="The kerf of the panel saw.")
    table_kerf = LengthField(means="The kerf of the cutting table.")
    panel_reach = LengthField(means="The longest cut of the panel saw.")
    table_reach = LengthField(means="The longest cut of the cutting table.")
    table_passes = StrictInteger(
        least=1, most=20, means="The number of passes of the knife at the cutting table."
    )
    ways = Several(
        Part(MaterialWayDocument),
        most=20,
        means="The materials that this shop does not cut in the usual way.",
    )
    blade_passes = Several(
        Part(PassStepDocument),
        most=10,
        means="How often the blade goes over each cut of thick mat board. Default: 2 from 8-ply.",
    )


class BillingDocument(Document):
    """How exact quantities become billed ones."""

    makes = Billing
    united_inches = OneOf(
        ("sum", "sides"),
        means=(
            "`sum`: width plus height, rounded up to a whole inch. `sides`: each "
            "side rounded up first."
        ),
    )
    square_foot_step = ExactNumber(
        least=0, means="Square feet are rounded up to a multiple of this."
    )
    square_foot_minimum = ExactNumber(least=0, means="The least number of square feet billed.")
    linear_foot_step = ExactNumber(
        least=0,
        means=(
            "Feet of moulding, fillets and supplies are rounded up to a multiple of this. A fillet "
            "is billed by the opening that it lines plus eight of its widths."
        ),
    )
    linear_foot_minimum = ExactNumber(
        least=0, means="The least number of feet of moulding billed for a frame."
    )
    perimeter_foot_step = ExactNumber(
        least=0,
        means=(
            "With rules on the basis `perimeter_foot`: feet of perimeter are rounded up to a "
            "multiple of this. Supplies are sold by the running foot, to `linear_foot_step`."
        ),
    )
    minute_step = ExactNumber(least=0, means="Minutes are rounded up to a multiple of this.")
    sheet_shares = Several(
        ExactNumber(least=0, most=1),
        least=1,
        most=20,
        means=(
            "The shares of a stock sheet that are sold, smallest first; the last is "
            "the whole sheet."
        ),
    )
    sheet_share_by = OneOf(
        SHARES_BY,
        means=(
            "`area`: a piece's part of its sheet's area. `yield`: one over the number of pieces "
            "of its size that straight cuts give from the sheet. Both are rounded up to the next "
            "share. The sheet is the smallest of the item's by area that holds the piece, turned "
            "unless its grain forbids it. A piece larger than every sheet counts the largest ones "
            "that cover it side by side, two at least."
        ),
    )


class SlenderDocument(Document):
    """From so many united inches on, a face narrower than this is slender."""

    united_inches = ExactNumber(
        least=0, required=True, means="Applies from this number of united inches."
    )
    face_width = LengthField(required=True, means="A narrower face causes a warning.")

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
    glass_largest = SizeField(means="The largest lite of glass; above it, acrylic is suggested.")
    hardware_factor = ExactNumber(
        least=1, means="The factor applied to the weight before hardware is chosen."
    )
    heavy_kg = ExactNumber(least=0, means="The weight from which a picture is called heavy.")
    installer_kg = ExactNumber(least=0, means="The weight from which an installer should hang it.")
    two_person_united_inches = ExactNumber(
        least=0, means="The size from which two people should carry it."
    )
    slender_face = SlenderField(
        Part(SlenderDocument), most=20, means="The faces that are thin for a size."
    )
    slender_weight_kg = ExactNumber(
        least=0, means="The weight from which a thin face causes a warning."
    )


class HangingDocument(Document):
    """Where rings sit, and how a wire is measured."""

    makes = Hanging
    ring_parts = ExactNumber(
        least=2, most=100, means="The rings sit this fraction (1/n) of the outside height down."
    )
    ring_inset = LengthField(
        means="From the frame's vertical edges inwards to the rings; in the middle of the face "
        "where the rail behind its rabbet is narrower."
    )
    wire_parts = ExactNumber(
        least=2,
        most=100,
        means="The middle of a wire rises by this fraction (1/n) of the span between the rings.",
    )
    wire_below = LengthField(
        means="The top of the wire stays at least this far below the frame's upper edge."
    )
    wire_knot = LengthField(means="The wire for the knot, at each end.")
    wire_step = LengthField(
        means="Wires are cut to a multiple of this, rounded up; 0 for no rounding."
    )


class UseDocument(Document):
    """So much of an item, or of hardware of a role, per unit of a measure."""

    makes = SupplyUse
    item = Code(
        shortest=0, means="The code of the item; empty if `role` selects hardware by weight."
    )
    role = OneOf(
        ("", "wire", "hanger", "hook"),
        means=("The role of hardware that is selected by weight; empty if `item` names an item."),
    )
    covers = OneOf(
        COVERS,
        means=(
            "What it covers: each `art` (one for every opening), the `package`, the `rabbet`, or "
            "the `outside` of the framed piece. Empty: each art for a mounting, the outside for a "
            "finishing."
        ),
    )
    measure = OneOf(
        MEASURES,
        required=True,
        means=(
            "What the quantity depends on: the `piece`, or the perimeter, area or width of what it "
            "covers; `wire_foot`: the length of a hanging wire."
        ),
    )
    per_unit = ExactNumber(least=0, required=True, means="The quantity per unit of the measure.")


class MethodDocument(Document):
    """A way of mounting or finishing."""

    makes = Method
    code = Code(required=True, means="The code that jobs use.")
    description = Words(required=True, means="What it is.")
    driver = OneOf(
        ("", *DRIVERS),
        required=True,
        means="The driver of bench time that it counts for; empty for none.",
    )
    uses = Several(Part(UseDocument), most=20, means="The material that it uses.")
    reversible = StrictBoolean(means="True if it can be undone without harm; originals require it.")
    stage = OneOf(
        METHOD_STAGES,
        means=(
            "When it is done: before the package is closed (`mount`), round its edge (`seal`), in "
            "the rabbet (`rabbet`), to hold the contents in the frame (`fit`), on the back "
            "(`cover`), to hang it (`hang`), or `last`. Empty: its driver decides."
        ),
    )
    wait = Words(means="What has to end before the next stage, such as paste that dries.")


class FrameUseDocument(Document):
    """So much of an item for a frame, its corners or its sides."""

    makes = FrameUse
    item = Code(required=True, means="The code of the item.")
    measure = OneOf(
        FRAME_MEASURES,
        required=True,
        means=(
            "`frame`: once per frame. `corner`: for each corner, unless the frame comes joined. "
            "`side_foot`: for each foot begun of each side of what the frame holds."
        ),
    )
    per_unit = ExactNumber(least=0, means="The quantity per unit of the measure. Default: 1.")
    least = ExactNumber(
        least=0, means="With `side_foot`: the least quantity for each side. Default: 0."
    )


class JoiningDocument(Document):
    """What frames of a material are joined and closed with."""

    makes = Joining
    material = Words(
        shortest=1,
        longest=40,
        required=True,
        means="The material of the moulding, as the catalogue names it.",
    )
    uses = Several(
        Part(FrameUseDocument),
        least=1,
        most=20,
        required=True,
        means="What such a frame takes besides its moulding.",
    )


class TaxRateDocument(Document):
    """One rate of tax."""

    makes = TaxRate
    category = Code(required=True, means="The tax category of the price rules that it applies to.")
    name = Words(longest=80, shortest=1, required=True, means="Its name on quotes.")
    percent = ExactNumber(least=0, most=100, required=True, means="The rate, in percent.")
    place = Code(shortest=0, means="The place that it applies to; empty for the shop's own.")


class TaxationDocument(Document):
    """How tax is laid on."""

    makes = Taxation
    included = StrictBoolean(means="True if prices include the tax; otherwise it is added.")
    rounded = OneOf(("invoice", "line"), means="Round the tax once per invoice or once per line.")
    rates_rounded = OneOf(
        RATES_ROUNDED,
        means=(
            "`each`: every named rate is rounded by itself, and the tax is their sum. `together`: "
            "the sum of the rates is rounded, and shared over them in proportion; odd minor units "
            "go to the largest remainders, the first rate winning a tie. Default: each."
        ),
    )
    rounding = OneOf(
        TAX_ROUNDINGS,
        means=(
            "To which minor unit: the nearer one, a tie going up (`half_up`) or down "
            "(`half_down`), or always `up` or `down`. Default: half_up."
        ),
    )
    rates = Several(Part(TaxRateDocument), means="The rates; several of one category add up.")
    untaxed = Several(
        Code(),
        means=(
            "The tax categories without tax. A category that has no rate and is not "
            "listed here makes the tax unknown; it is never guessed."
        ),
    )


class OrderingDocument(Document):
    """What accepting a quote means; working minutes from Monday to Sunday."""

    makes = Ordering
    deposit_percent = ExactNumber(
        least=0, most=100, means="The deposit due on acceptance, in percent of the total."
    )
    working_minutes = Several(
        StrictInteger(most=1_440),
        least=7,
        most=7,
        means="The bench's working minutes on each day of the week, Monday first.",
    )
    closed_days = Several(DateField(), most=1_000, means="Days on which nobody works.")
    lead_days = StrictInteger(most=365, means="Working days until stock arrives.")
    rush_fee = Code(
        shortest=0,
        means=(
            "The fee of the price list that buys the rush service. A document that asks for it "
            "says in `wanted_by` for which day. Empty: there is none."
        ),
    )
    rush_lead_days = StrictInteger(
        most=365, means="The same as `lead_days`, for work with the rush fee."
    )
    cash_step = ExactNumber(
        least=0,
        most=1_000,
        means=(
            "Cash is paid in multiples of this, such as 0.05; 0 for none. It is rounded when it is "
            "paid, and changes no amount of a quote."
        ),
    )
    cash_rounding = OneOf(
        CASH_ROUNDINGS, means="Where half a step goes: away from zero, or towards it."
    )


class LineGroupDocument(Document):
    """Lines that a customer sees as one."""

    makes = LineGroup
    name = Words(shortest=1, longest=60, required=True, means="The group's name.")
    components = Several(
        OneOf(COMPONENTS),
        least=1,
        most=len(COMPONENTS),
        required=True,
        means="The components whose lines it sums; each is in one group at most.",
    )
    told = StrictBoolean(
        means="True if the customer reads what its lines are of, not the name and the sum alone."
    )


class ConditionTermDocument(Document):
    """A term with which the condition of what comes in is recorded."""

    makes = ConditionTerm
    code = Code(required=True, means="The code that jobs use.")
    description = Words(
        shortest=1, longest=120, required=True, means="What it means, as tickets print it."
    )


class DiscountLimitDocument(Document):
    """How much off keys with a scope may give."""

    makes = DiscountLimit
    scope = OneOf(
        ("price", "counter"), required=True, means="The scope of the keys that it applies to."
    )
    percent = ExactNumber(
        least=0,
        most=100,
        required=True,
        means=("The largest discount, in percent of the goods, all discounts by hand together."),
    )


class LevelFactorDocument(Document):
    """The factor of a price level on one component."""

    makes = LevelFactor
    component = OneOf(
        ("", *COMPONENTS),
        means=(
            "The component; empty for every other one but fees, services and free lines. Default: "
            "empty."
        ),
    )
    factor = ExactNumber(
        least=0,
        most=10,
        required=True,
        means=(
            "The factor on the price of one piece, after its minimum and rounding step, and on its "
            "set-up."
        ),
    )


class PriceLevelDocument(Document):
    """A level of prices that the shop names, such as trade or school."""

    makes = PriceLevel
    code = Code(required=True, means="The code by which a request or a customer has it.")
    name = Words(shortest=1, longest=80, required=True, means="Its name.")
    factors = Several(
        Part(LevelFactorDocument), most=20, means="Its factors; a component without one has 1."
    )


class PriceEndingDocument(Document):
    """How prices end: the next amount that is `ending` above a multiple of `step`, never lower."""

    makes = PriceEnding
    at = OneOf(
        ENDINGS_AT,
        required=True,
        means=(
            "`line`: the price of one piece. `job`: the job's subtotal. `order`: what is left of "
            "the whole before tax. At a job or an order, what it adds is a line of its own."
        ),
    )
    step = ExactNumber(least=0, required=True, means="The step, in whole units of the currency.")
    ending = ExactNumber(least=0, means="The ending, as in 0.95; below the step. Default: 0.")


class LeastMarginDocument(Document):
    """The least margin that the shop wants of a component."""

    makes = LeastMargin
    component = OneOf(
        ("", *COMPONENTS),
        means="The component, at the cost of its material, or `labour`; empty for the whole job.",
    )
    percent = ExactNumber(
        least=0,
        most=100,
        required=True,
        means="The margin in percent: (price − cost) / price, after discounts and before tax.",
    )


class ChargingDocument(Document):
    """What is done to prices after the price list."""

    makes = Charging
    order_minimum = ExactNumber(
        least=0,
        means=(
            "The least that an order in the shop's currency comes to before tax. What is missing "
            "is a line of its own (`order_minimum`), taxed as what it tops up. 0 is none."
        ),
    )
    ending = Part(
        PriceEndingDocument,
        load_default=None,
        allow_none=True,
        means="How prices end; null: as they are.",
    )
    least_margin = Several(
        Part(LeastMarginDocument),
        most=20,
        means=(
            "What is sold under these margins is named in `costs`, for keys that may see costs "
            "(`under_least_margin`). No price is changed."
        ),
    )


def _begins(what: str) -> Code:
    """Return a code that a preset may leave open (null) or have nothing of (empty)."""
    means = f"{what}; empty for none, null as the form has it."
    return Code(shortest=0, load_default=None, allow_none=True, means=means)


class PresetDocument(Document):
    """What the quote form begins with for a kind of art; a code that is not on sale is ignored."""

    makes = Preset
    art = OneOf(tuple(ART_KINDS), required=True, means="The kind of art.")
    presentation = OneOf(
        PRESENTATIONS,
        load_default=None,
        allow_none=True,
        means="How it sits; null as the form has it.",
    )
    mat = _begins("The top mat's board")
    under = _begins("The under mat's board")
    moulding = _begins("The moulding")
    glazing = _begins("The glazing's sheet")
    mounting = _begins("The method of mounting")
    mount = _begins("The board that it is mounted on")
    backing = _begins("The backing board")
    finishing = Several(
        Code(),
        most=50,
        load_default=None,
        allow_none=True,
        means="The finishings; null as the form has them.",
    )


class QuoteFormDocument(Document):
    """How the public asks the shop."""

    makes = QuoteForm
    contact = OneOf(
        CONTACTS_ASKED,
        means=(
            "Whose drafts need a name, and a mail address or a telephone number. `form`: those of "
            "the quote form at `/`. `public`: those of every key with the scope `price`. `never`: "
            "nobody's. Default: form."
        ),
    )
    presets = Several(
        Part(PresetDocument),
        most=len(ART_KINDS),
        means="What the form begins with, one for each kind of art at most.",
    )
