"""A shop's settings: every trade practice that differs from shop to shop.

Defaults marked (cp) are common practice without a published source. None is a constant: the shop
changes them, and a stored quote keeps those it was calculated with.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from fractions import Fraction
from itertools import pairwise
from math import lcm
from types import MappingProxyType
from typing import Literal, get_args

from service.domain.bench.materials import MATERIALS, WAYS, Way
from service.domain.errors import BadValue
from service.domain.letterhead import Letterhead
from service.domain.measure.length import Length, Size
from service.domain.measure.rounding import up
from service.domain.measure.ruler import Ruler
from service.domain.measure.units import MG_PER_KG
from service.domain.value import dataclass, derive

StockValue = Literal["cost", "free"]
STOCK_VALUES: tuple[StockValue, ...] = ("cost", "free")
ShareBy = Literal["area", "yield"]
SHARES_BY: tuple[str, ...] = get_args(ShareBy)
FINEST_STEP = 10**6
"""Quantities are shown with six decimals, so no step is finer than 1/FINEST_STEP."""


def _inch(over: int, under: int = 1) -> Length:
    return Length.inches(Fraction(over, under))


@dataclass(frozen=True, slots=True)
class ClearanceStep:
    """The allowance of plastics, in total, for a package whose longer side is over `over`."""

    over: Length
    allowance: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """The rules that derive sizes from the art."""

    allowance: Length = _inch(1, 8)  # (cp) in total per dimension
    plastic_clearance: tuple[ClearanceStep, ...] = (  # (cp) 3/16 over 32 in, 1/4 over 48 in
        ClearanceStep(_inch(32), _inch(3, 16)),
        ClearanceStep(_inch(48), _inch(1, 4)),
    )
    overlap: Length = _inch(1, 8)  # (cp) per side
    reveal: Length = _inch(1, 4)  # (cp)
    float_margin: Length = _inch(1, 2)  # (cp)
    gap: Length = _inch(1, 4)  # (cp) around a canvas in a floater
    under_mat_trim: Length = _inch(1, 8)  # per side, so that an under mat clears the guide
    smallest_bar: Length = _inch(1, 2)  # (cp) between two windows
    room_behind: Length = _inch(1, 8)  # behind the stack, for points and dust cover
    spacer: Length = _inch(1, 8)  # (cp) default depth of a spacer
    object_clearance: Length = _inch(1, 4)  # (cp) between an object and the glazing


@dataclass(frozen=True, slots=True)
class MaterialWay:
    """The shop's own way of cutting a material: `order` if its bench does not work it.

    Raises:
        BadValue: an unknown material, or a way that the material does not allow.
    """

    material: str
    cut_by: Way

    def __post_init__(self) -> None:
        known = MATERIALS.get(self.material)
        if known is None:
            raise BadValue(f"a material is one of {', '.join(MATERIALS)}", "/material")
        if self.cut_by not in known.cut_by:
            allowed = " or ".join(known.cut_by)
            raise BadValue(f"{known.name} is not cut by {WAYS[self.cut_by]}: {allowed}", "/cut_by")


@dataclass(frozen=True, slots=True)
class PassStep:
    """The passes of the blade through mat board thicker than `over`."""

    over: Length
    passes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """The reach of the straight-line board cutter, and how it is used. All (cp).

    `ways` replaces the usual way of cutting a material. Board cut at the table takes `table_passes`
    of the knife; mat board under the rail takes the `blade_passes` of its thickness, else one.

    An offcut goes back on the rack if it is usable: a sheet's at least `offcut_short` by
    `offcut_long`, a stick's at least `offcut_stick` long. A plan counts sheets and sticks in stock
    at cost, or as free (`stock_on_hand`). A scored cut is no longer than the `rail`; a cut by the
    panel saw or the cutting table takes a kerf, and has its own reach. Acrylic thicker than
    `thickest_snap` is sawn: benches snap up to between 1/8 and 1/4 in.
    """

    squaring_arm: Length = _inch(27)
    rail: Length = _inch(60)
    widest_guide: Length = _inch(6)
    thickest_board: Length = _inch(3, 16)
    thickest_bevel: Length = _inch(1, 8)
    standard_head: Length = _inch(1, 16)
    stops: bool = True
    stops_from_quantity: int = 1
    acrylic_passes: int = 3
    thickest_snap: Length = _inch(1, 8)
    saw_kerf: Length = _inch(1, 8)
    stick_end_trim: Length = _inch(1, 2)
    offcut_short: Length = _inch(8)
    offcut_long: Length = _inch(10)
    offcut_stick: Length = _inch(18)
    stock_on_hand: StockValue = "cost"
    panel_kerf: Length = _inch(1, 8)
    table_kerf: Length = _inch(1, 16)
    panel_reach: Length = _inch(120)
    table_reach: Length = _inch(60)
    table_passes: int = 3
    ways: tuple[MaterialWay, ...] = ()
    blade_passes: tuple[PassStep, ...] = (  # 8-ply is cut in two passes, 12-ply in three
        PassStep(_inch(3, 32), 2),
        PassStep(_inch(1, 8), 3),
    )

    def passes(self, thickness: Length) -> int:
        """Return how often the blade goes through mat board of this thickness."""
        return max((step.passes for step in self.blade_passes if thickness > step.over), default=1)

    def kerf(self, cut_by: str) -> Length:
        """Return what a cut of a sheet takes: nothing if it is scored."""
        kerfs = {"saw": self.panel_kerf, "table": self.table_kerf}
        return kerfs.get(cut_by, _inch(0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Billing:
    """The rules that round exact quantities to billed ones.

    Every step is above zero: a quantity billed as measured would have more decimals than a line
    shows, and could not be multiplied by hand. A shop that bills almost exactly sets 0.01 or less.
    `united_inches`: "sum" rounds width plus height up to a whole inch, "sides" rounds each side up
    first. `linear_foot_minimum` is the least footage of moulding sold for a frame. `sheet_shares`
    are the parts of a stock sheet that are sold, smallest first; `sheet_share_by` takes a piece's
    part of the sheet by its area, or as one over the pieces that the sheet yields. Costs by the
    sheet follow the same share.

    Raises:
        BadValue: a step that is zero or finer than shown, a minimum below zero, or shares that
            do not rise to the whole sheet.
    """

    united_inches: Literal["sum", "sides"] = "sum"
    square_foot_step: Fraction = Fraction(1, 4)
    square_foot_minimum: Fraction = Fraction(1)
    linear_foot_step: Fraction = Fraction(1)
    linear_foot_minimum: Fraction = Fraction(0)
    perimeter_foot_step: Fraction = Fraction(1)
    minute_step: Fraction = Fraction(1)
    sheet_shares: tuple[Fraction, ...] = (Fraction(1, 4), Fraction(1, 2), Fraction(1))
    sheet_share_by: ShareBy = "area"

    def __post_init__(self) -> None:
        for name in ("square_foot", "linear_foot", "perimeter_foot", "minute"):
            step = getattr(self, f"{name}_step")
            if step <= 0 or (step * FINEST_STEP).denominator != 1:
                told = "a step of billing is more than nothing, with at most six decimals"
                raise BadValue(told, f"/{name}_step")
        for name in ("square_foot_minimum", "linear_foot_minimum"):
            if getattr(self, name) < 0:
                raise BadValue("a minimum cannot be below zero", f"/{name}")
        shares = self.sheet_shares
        if not shares or shares[-1] != 1:
            raise BadValue("the shares of a sheet end with the whole sheet", "/sheet_shares")
        if shares[0] <= 0 or any(one >= next_ for one, next_ in pairwise(shares)):
            raise BadValue("the shares of a sheet rise", "/sheet_shares")


@dataclass(frozen=True, slots=True, kw_only=True)
class Safety:
    """The thresholds of the shop's warnings. All (cp) except the wire's factor.

    Galvanised picture wire is sold by a breaking strain of four times the weight; the factor is
    applied to the calculated weight before hardware is chosen. Weights below `noted_from_mg` cause
    no advisory.
    """

    glass_largest: Size = field(default_factory=lambda: Size(_inch(32), _inch(40)))
    hardware_factor: Fraction = Fraction(4)
    heavy_kg: Fraction = Fraction(15)
    installer_kg: Fraction = Fraction(23)
    two_person_united_inches: Fraction = Fraction(60)
    slender_face: tuple[tuple[Fraction, Length], ...] = (
        (Fraction(38), _inch(3, 4)),
        (Fraction(60), _inch(5, 4)),
    )
    slender_weight_kg: Fraction = Fraction(9)
    noted_from_mg: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        least = min(self.slender_weight_kg, self.heavy_kg, self.installer_kg) * MG_PER_KG
        derive(self, "noted_from_mg", up(least.numerator, least.denominator))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanging:
    """Where the rings sit behind a frame, and how a wire is measured. All (cp).

    Attributes:
        ring_parts: the rings are one of so many parts of the outside height down.
        ring_inset: from the frame's upright edges inwards to the rings; in the middle of the face
            where the rail behind its rabbet is narrower.
        wire_parts: the wire rises in the middle by one of so many parts of the span between the
            rings.
        wire_below: the wire's top stays at least this far below the frame's upper edge.
        wire_knot: the wire for the knot, at each end.
        wire_step: a wire is cut to a multiple of this, rounded up.

    Raises:
        BadValue: fewer than two parts.
    """

    ring_parts: Fraction = Fraction(3)
    ring_inset: Length = _inch(1)
    wire_parts: Fraction = Fraction(5)
    wire_below: Length = _inch(2)
    wire_knot: Length = _inch(4)
    wire_step: Length = _inch(1)

    def __post_init__(self) -> None:
        for name in ("ring_parts", "wire_parts"):
            if getattr(self, name) < 2:
                raise BadValue("a length is divided into two parts or more", f"/{name}")


Measure = Literal["piece", "perimeter_foot", "square_foot", "width_foot", "wire_foot"]
Covers = Literal["", "art", "package", "rabbet", "outside"]
MEASURES: tuple[str, ...] = get_args(Measure)
COVERS: tuple[str, ...] = get_args(Covers)


@dataclass(frozen=True, slots=True)
class SupplyUse:
    """The quantity of an item per unit of a measure of what it covers.

    Attributes:
        measure: piece, perimeter_foot, square_foot or width_foot of what is covered, or wire_foot:
            the length of a hanging wire.
        covers: each art (a picture for every opening), the package, the rabbet, or the outside of
            the framed piece. Empty: each art for a mounting, the outside for a finishing.
        item: may be empty if `role` selects hardware by weight.
    """

    measure: Measure
    per_unit: Fraction
    item: str = ""
    role: str = ""
    covers: Covers = ""

    def __post_init__(self) -> None:
        if bool(self.item) == bool(self.role):
            raise BadValue("a use names an item, or a role that hardware is picked for", "/item")


MethodStage = Literal["", "mount", "seal", "rabbet", "fit", "cover", "hang", "last"]
METHOD_STAGES: tuple[MethodStage, ...] = (
    "",
    "mount",
    "seal",
    "rabbet",
    "fit",
    "cover",
    "hang",
    "last",
)


@dataclass(frozen=True, slots=True)
class Method:
    """A method of mounting or finishing: what it uses, and its driver of bench time.

    `reversible` mounting can be undone without harm; originals require it. `stage` places the
    method in the order of work: before the package is closed (mount), round the package's edge
    (seal), in the frame before the package (rabbet), what holds the contents in the frame (fit),
    the back (cover), hangers and wire (hang), or last. Empty means that the driver decides. `wait`
    is what has to end before the next stage, as paste that dries.
    """

    code: str
    description: str
    driver: str
    uses: tuple[SupplyUse, ...] = ()
    reversible: bool = True
    stage: MethodStage = ""
    wait: str = ""


FrameMeasure = Literal["frame", "corner", "side_foot"]
FRAME_MEASURES: tuple[str, ...] = get_args(FrameMeasure)


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameUse:
    """The quantity of an item that a frame is joined or closed with.

    `measure`: once a frame; for each corner, where the bench joins it; or for each foot begun of
    each side of what the frame holds, and at least `least` a side.
    """

    item: str
    measure: FrameMeasure
    per_unit: Fraction = Fraction(1)
    least: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Joining:
    """What frames of a moulding's material take beside moulding, such as corner angles and springs.

    `material` is compared with the moulding's, without regard to case.
    """

    material: str
    uses: tuple[FrameUse, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxRate:
    """One rate of tax: a percentage, for a category of lines, in a place.

    `place` is empty for the shop's own place, which applies unless a document names another.
    """

    category: str
    name: str
    percent: Fraction
    place: str = ""


TaxRounding = Literal["half_up", "half_down", "up", "down"]
TAX_ROUNDINGS: tuple[str, ...] = get_args(TaxRounding)
RatesRounded = Literal["each", "together"]
RATES_ROUNDED: tuple[str, ...] = get_args(RatesRounded)


@dataclass(frozen=True, slots=True, kw_only=True)
class Taxation:
    """The method of taxation; see `service.domain.prices.tax` for what authorities publish.

    Attributes:
        included: prices include the tax; otherwise it is added.
        rounded: the tax is rounded once per invoice, or line by line.
        rates_rounded: each named rate by itself, or all rates of a line or invoice together.
        rounding: to which minor unit: the nearer one with a tie up or down, or always up or down.
        rates: the rates; those of one category add up.
        untaxed: the categories without tax.
    """

    included: bool = False
    rounded: Literal["invoice", "line"] = "invoice"
    rates_rounded: RatesRounded = "each"
    rounding: TaxRounding = "half_up"
    rates: tuple[TaxRate, ...] = ()
    untaxed: tuple[str, ...] = ()
    scale: int = field(init=False, repr=False, compare=False)
    parts: Mapping[str, tuple[tuple[TaxRate, int], ...]] = field(
        init=False, repr=False, compare=False
    )

    def __post_init__(self) -> None:
        """Precalculate each rate's share of an amount, over one common denominator."""
        takes: dict[str, list[tuple[TaxRate, Fraction]]] = {}
        here = [rate for rate in self.rates if not rate.place]
        for rate in here:
            of_category = (r.percent for r in here if r.category == rate.category)
            whole = 100 + sum(of_category, Fraction(0)) if self.included else Fraction(100)
            takes.setdefault(rate.category, []).append((rate, rate.percent / whole))
        scale = lcm(*(take.denominator for rates in takes.values() for _, take in rates))
        parts = {
            category: tuple((rate, int(take * scale)) for rate, take in rates)
            for category, rates in takes.items()
        }
        derive(self, "scale", scale)
        derive(self, "parts", MappingProxyType(parts))

    def takes(self, category: str) -> tuple[tuple[TaxRate, int], ...]:
        """Return the rates on a category, each with its share of 1, in 1/`scale`.

        Added: percent/100. Included in the price: percent/(100 + all percents).
        """
        return self.parts.get(category, ())


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordering:
    """The terms of acceptance: a deposit, and the ready date. All (cp).

    `working_minutes` are the bench's, Monday first; `closed_days` have none. `lead_days` are the
    days before work can begin, while material is ordered. `rush_fee` is the code of the fee that
    buys the rush service, for which they are `rush_lead_days`; empty if there is none. Cash is paid
    in multiples of `cash_step`, 0 for none (`service.domain.prices.cash`).

    Raises:
        BadValue: a week without working minutes, or more minutes than a day has.
    """

    deposit_percent: Fraction = Fraction(50)
    working_minutes: tuple[int, ...] = (420, 420, 420, 420, 420, 0, 0)
    closed_days: tuple[date, ...] = ()
    lead_days: int = 0
    rush_fee: str = ""
    rush_lead_days: int = 0
    cash_step: Fraction = Fraction(0)
    cash_rounding: Literal["half_up", "half_down"] = "half_up"

    def __post_init__(self) -> None:
        if not 0 <= self.deposit_percent <= 100:
            raise BadValue("a deposit is 0 to 100 percent", "/deposit_percent")
        if len(self.working_minutes) != 7 or not all(0 <= m <= 1_440 for m in self.working_minutes):
            raise BadValue("a week has seven days of 0 to 1440 minutes", "/working_minutes")
        if not any(self.working_minutes):
            raise BadValue("on one day of the week at least somebody works", "/working_minutes")
        for name in ("lead_days", "rush_lead_days"):
            if getattr(self, name) < 0:
                raise BadValue("work cannot begin before it is asked for", f"/{name}")


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelFactor:
    """The factor of a price level on the lines of one component; of all others, if it is empty."""

    factor: Fraction
    component: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceLevel:
    """A level of prices, such as trade or school: factors on what the price list comes to.

    A component without a factor of its own has that of the empty one, or 1. Fees and services have
    1 unless they are named.

    Raises:
        BadValue: a factor below zero, or two for one component.
    """

    code: str
    name: str
    factors: tuple[LevelFactor, ...] = ()

    def __post_init__(self) -> None:
        if any(each.factor < 0 for each in self.factors):
            raise BadValue("a factor cannot be below zero", "/factors")
        named = [each.component for each in self.factors]
        if len(set(named)) < len(named):
            raise BadValue("each component has one factor", "/factors")

    def of(self, component: str) -> Fraction:
        """Return the factor on a component's lines."""
        found = {each.component: each.factor for each in self.factors}
        usual = Fraction(1) if component in ("fee", "service", "sundry") else found.get("")
        return found.get(component, Fraction(1) if usual is None else usual)


EndingAt = Literal["line", "job", "order"]
ENDINGS_AT: tuple[str, ...] = get_args(EndingAt)


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceEnding:
    """How prices end: the next amount that is `ending` above a multiple of `step`, never lower.

    `at` a line it is the price of one piece; at a job its subtotal; at an order what is left before
    tax. The last two get a line of their own. Studies find no consistent effect of endings, so
    there is none by default.

    Raises:
        BadValue: no step, or an ending that is not below it.
    """

    at: EndingAt
    step: Fraction
    ending: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if self.step <= 0:
            raise BadValue("a step is more than nothing", "/step")
        if not 0 <= self.ending < self.step:
            raise BadValue("an ending is below its step", "/ending")

    def ended(self, minor: int, scale: int) -> int:
        """Return an amount so ended, in minor units; nothing stays nothing."""
        step, ending = self.step * scale, self.ending * scale
        if not minor or step.denominator != 1 or ending.denominator != 1:
            return minor
        over, whole = minor - ending.numerator, step.numerator
        return up(over, whole) * whole + ending.numerator


@dataclass(frozen=True, slots=True)
class LeastMargin:
    """The least margin that the shop wants of a component, in percent; of a job, if it is empty."""

    percent: Fraction
    component: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Charging:
    """What is done to prices after the price list.

    `order_minimum` is the least that an order comes to before tax, in the shop's currency; what is
    missing is a line of its own, taxed as what it tops up. 0 is none. What is sold under its
    `least_margin` is named to those who may see costs; no price is changed by it.

    Raises:
        BadValue: a minimum below zero, or two least margins for one component.
    """

    order_minimum: Fraction = Fraction(0)
    ending: PriceEnding | None = None
    least_margin: tuple[LeastMargin, ...] = ()

    def __post_init__(self) -> None:
        if self.order_minimum < 0:
            raise BadValue("a minimum cannot be below zero", "/order_minimum")
        seen: set[str] = set()
        for position, each in enumerate(self.least_margin):
            if each.component in seen:
                what = each.component or "the job"
                where = f"/least_margin/{position}/component"
                raise BadValue(f"there is a least margin of {what} above", where)
            seen.add(each.component)

    def ending_at(self, place: EndingAt) -> PriceEnding | None:
        """Return the ending of prices at a place, or None."""
        return self.ending if self.ending is not None and self.ending.at == place else None


@dataclass(frozen=True, slots=True)
class DiscountLimit:
    """The maximum discount by keys with a scope, in percent of the goods, all discounts together.

    Quantity breaks do not count, since the list gives them. A scope without a limit may give none;
    only `admin` is unlimited.
    """

    scope: Literal["price", "counter"]
    percent: Fraction


@dataclass(frozen=True, slots=True)
class ConditionTerm:
    """A term with which the shop records the condition of what it takes in."""

    code: str
    description: str


@dataclass(frozen=True, slots=True)
class LineGroup:
    """A group of a customer's lines: its name, and the components whose lines it sums.

    `told`: the customer reads what the lines are of; else only the name and the amount.
    """

    name: str
    components: tuple[str, ...]
    told: bool = False


GROUPS = (
    LineGroup("Frame", ("frame",), told=True),
    LineGroup("Mats", ("mat", "fillet"), told=True),
    LineGroup("Glass", ("glazing",), told=True),
    LineGroup(
        "Mounting and fitting",
        (*("mounting", "backing", "finishing", "hardware", "work", "labour"),),
    ),
)
"""The usual groups (common practice, no source). Fees and services stand alone."""


def distinct(groups: tuple[LineGroup, ...]) -> tuple[LineGroup, ...]:
    """Return groups in which no line is summed twice.

    Raises:
        BadValue: a name stands twice, or a component is in two groups.
    """
    names: set[str] = set()
    taken: set[str] = set()
    for position, group in enumerate(groups):
        if group.name in names:
            raise BadValue(f"there is another group {group.name}", f"/groups/{position}/name")
        twice = sorted(taken & set(group.components))
        if twice:
            raise BadValue(f"{twice[0]} is in two groups", f"/groups/{position}/components")
        names.add(group.name)
        taken |= set(group.components)
    return groups


ContactAsked = Literal["form", "public", "never"]
CONTACTS_ASKED: tuple[str, ...] = get_args(ContactAsked)


@dataclass(frozen=True, slots=True, kw_only=True)
class Preset:
    """What the quote form begins with for a kind of art, until the customer chooses.

    None leaves a choice as the form has it; an empty code is nothing of it. A code that is not on
    sale is passed over.
    """

    art: str
    presentation: str | None = None
    mat: str | None = None
    under: str | None = None
    moulding: str | None = None
    glazing: str | None = None
    mounting: str | None = None
    mount: str | None = None
    backing: str | None = None
    finishing: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteForm:
    """How the shop is asked by the public.

    Attributes:
        contact: whose drafts need a name, and a mail address or a telephone number: those of the
            quote form at `/`, those of every key with the scope `price`, or nobody's.
        presets: what the form begins with, one for each kind of art at most.

    Raises:
        BadValue: two presets are for one kind.
    """

    contact: ContactAsked = "form"
    presets: tuple[Preset, ...] = ()

    def __post_init__(self) -> None:
        for position, preset in enumerate(self.presets):
            if any(preset.art == other.art for other in self.presets[:position]):
                told = f"there is another preset for {preset.art}"
                raise BadValue(told, f"/presets/{position}/art")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """One shop and all its settings.

    `locale` is the language and region of its papers, as in de-CH; empty for plain English.
    """

    code: str
    name: str
    currency: str
    time_zone: str
    ruler: Ruler
    sizing: Sizing = field(default_factory=Sizing)
    bench: Bench = field(default_factory=Bench)
    billing: Billing = field(default_factory=Billing)
    safety: Safety = field(default_factory=Safety)
    taxation: Taxation = field(default_factory=Taxation)
    ordering: Ordering = field(default_factory=Ordering)
    hanging: Hanging = field(default_factory=Hanging)
    mounting: tuple[Method, ...] = ()
    finishing: tuple[Method, ...] = ()
    joining: tuple[Joining, ...] = ()
    quote_valid_days: int = 30
    discount_limits: tuple[DiscountLimit, ...] = ()
    letterhead: Letterhead = field(default_factory=Letterhead)
    condition_terms: tuple[ConditionTerm, ...] = ()
    locale: str = ""
    groups: tuple[LineGroup, ...] = GROUPS
    levels: tuple[PriceLevel, ...] = ()
    charging: Charging = field(default_factory=Charging)
    quote_form: QuoteForm = field(default_factory=QuoteForm)

    def level(self, code: str) -> PriceLevel | None:
        """Return the price level with this code, or None."""
        return next((level for level in self.levels if level.code == code), None)

    def condition_term(self, code: str) -> ConditionTerm | None:
        """Return the term of condition with this code, or None."""
        return next((term for term in self.condition_terms if term.code == code), None)

    def mounting_method(self, code: str) -> Method | None:
        """Return the mounting method with this code, or None."""
        return next((method for method in self.mounting if method.code == code), None)

    def finish(self, code: str) -> Method | None:
        """Return the finishing with this code, or None."""
        return next((method for method in self.finishing if method.code == code), None)

    def joined_with(self, material: str) -> tuple[FrameUse, ...]:
        """Return what a frame of this material takes beside its moulding, by its first entry."""
        named = material.strip().lower()
        found = (each.uses for each in self.joining if each.material.strip().lower() == named)
        return next(found, ())

    def allowance_for(self, package: Size, *, plastic: bool) -> Length:
        """Return the total allowance per dimension; long plastics get more, for expansion."""
        allowance = self.sizing.allowance
        if plastic:
            for step in self.sizing.plastic_clearance:
                if package.longer() > step.over and step.allowance > allowance:
                    allowance = step.allowance
        return allowance


STANDS_IN: Mapping[str, str] = {
    "frames_opened": "fittings",
    "frames_taken_apart": "ready_frames",
    "corner_repairs": "corners",
    "laminated_cuts": "glass_scores",
    "plastic_saw_cuts": "acrylic_scores",
}
"""The driver that a standard's minutes are taken from where it times no operation by the first: it
was written before that driver was."""
ASKED = "asked_minutes"
"""The driver of work that a line of a job asks for. No standard times it: the line says its
minutes, which are not billed again."""
DRIVERS: Mapping[str, str] = {
    "job": "one for each picture taken in",
    "board_pieces": "boards cut to outside size: mats, mount, backing",
    "board_united_inches": "united inches of those boards",
    "ordered_sheets": "boards and lites ordered cut to size, and checked when they come",
    "board_corner_cuts": "cuts across the corners of those boards, for a frame of many sides",
    "mat_layers": "mats in the package",
    "under_mats": "mats below the top one",
    "openings": "windows cut, every layer counted",
    "bevel_cuts": "straight window cuts: four a rectangular window",
    "guide_settings": "settings of the parallel mat guide: one for each border that differs",
    "pencil_lines": "lines drawn on the backs of mats: four a window, one a mat with stops",
    "shaped_openings": "ellipses and arches, which need another cutter",
    "v_grooves": "grooves cut round a window",
    "ruled_lines": "lines drawn round a window",
    "thick_mat_cuts": "window cuts through board thicker than 4-ply, with the thick-board head",
    "extra_passes": "passes of the blade after the first, for each cut through thick mat board",
    "glass_pieces": "lites of glass, cut or ordered",
    "glass_scores": "scribes over glass: one a break",
    "laminated_cuts": "cuts of laminated glass: both faces scribed and broken, the film parted",
    "acrylic_pieces": "pieces of acrylic or polycarbonate, cut or ordered",
    "acrylic_scores": "scoring passes over acrylic: several a break",
    "plastic_saw_cuts": "saw cuts through polycarbonate, and through acrylic too thick to snap",
    "glazing_united_inches": "united inches of the glazing",
    "rails": "rails cut, two mitres each",
    "corners": "frame corners joined",
    "moulding_feet": "feet of moulding handled, to the step of billing and before its minimum",
    "ready_frames": "frames that come joined and are only checked and cleaned",
    "fillet_corners": "mitred corners of fillets",
    "fillet_feet": "feet of fillet handled, to the step of billing",
    "hinged_mounts": "artworks hinged",
    "pressed_mounts": "artworks dry mounted",
    "laced_mounts": "textiles laced or pinned to a mount",
    "stretched_mounts": "canvases stretched or fixed in a frame",
    "float_mounts": "artworks floated on their mount",
    "mount_square_feet": "square feet of mount board worked on",
    "fittings": "packages fitted in frames",
    "fitting_united_inches": "united inches of the packages fitted",
    "dust_cover_square_feet": "square feet of dust cover glued on",
    "hanging_sets": "sets of hanging hardware fitted",
    "spacer_feet": "feet of spacer stuck in",
    "wraps": "framed pieces cleaned up and wrapped",
    "frames_opened": "customers' frames opened: cover and fixings off, contents out",
    "frames_taken_apart": "customers' frames taken apart at their corners, to be cut down",
    "corner_repairs": "corners of customers' frames cleaned out and joined anew",
}
