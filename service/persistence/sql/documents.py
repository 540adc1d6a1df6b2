"""The stored documents: a shop's settings, a price list's rules, a labour standard's operations.

Each name below is the codec of a domain dataclass and lists all its fields; a test keeps the two
equal, so that a new setting cannot be forgotten here.
"""

from __future__ import annotations

from service.domain.labour.multiplier import Multiplier
from service.domain.labour.standard import Hour, Operation
from service.domain.letterhead import Letterhead
from service.domain.measure.ruler import Ruler
from service.domain.prices.lists import Bracket, PriceRule, QuantityBreak
from service.domain.shop import (
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
    Shop,
    Sizing,
    SupplyUse,
    Taxation,
    TaxRate,
)
from service.persistence.sql.codec import (
    DAY,
    EXACT,
    FLAG,
    SIZE,
    TEXT,
    TICKS,
    WHOLE,
    many,
    pair,
    perhaps,
    record,
)

SIZING = record(
    Sizing,
    allowance=TICKS,
    plastic_clearance=many(record(ClearanceStep, over=TICKS, allowance=TICKS)),
    overlap=TICKS,
    reveal=TICKS,
    float_margin=TICKS,
    gap=TICKS,
    under_mat_trim=TICKS,
    smallest_bar=TICKS,
    room_behind=TICKS,
    spacer=TICKS,
    object_clearance=TICKS,
)

BENCH = record(
    Bench,
    squaring_arm=TICKS,
    rail=TICKS,
    widest_guide=TICKS,
    thickest_board=TICKS,
    thickest_bevel=TICKS,
    standard_head=TICKS,
    stops=FLAG,
    stops_from_quantity=WHOLE,
    acrylic_passes=WHOLE,
    thickest_snap=TICKS,
    saw_kerf=TICKS,
    stick_end_trim=TICKS,
    offcut_short=TICKS,
    offcut_long=TICKS,
    offcut_stick=TICKS,
    stock_on_hand=TEXT,
    panel_kerf=TICKS,
    table_kerf=TICKS,
    panel_reach=TICKS,
    table_reach=TICKS,
    table_passes=WHOLE,
    ways=many(record(MaterialWay, material=TEXT, cut_by=TEXT)),
    blade_passes=many(record(PassStep, over=TICKS, passes=WHOLE)),
)

BILLING = record(
    Billing,
    united_inches=TEXT,
    square_foot_step=EXACT,
    square_foot_minimum=EXACT,
    linear_foot_step=EXACT,
    linear_foot_minimum=EXACT,
    perimeter_foot_step=EXACT,
    minute_step=EXACT,
    sheet_shares=many(EXACT),
    sheet_share_by=TEXT,
)

SAFETY = record(
    Safety,
    glass_largest=SIZE,
    hardware_factor=EXACT,
    heavy_kg=EXACT,
    installer_kg=EXACT,
    two_person_united_inches=EXACT,
    slender_face=many(pair(EXACT, TICKS)),
    slender_weight_kg=EXACT,
)

METHOD = record(
    Method,
    code=TEXT,
    description=TEXT,
    driver=TEXT,
    uses=many(record(SupplyUse, measure=TEXT, per_unit=EXACT, item=TEXT, role=TEXT, covers=TEXT)),
    reversible=FLAG,
    stage=TEXT,
    wait=TEXT,
)

TAXATION = record(
    Taxation,
    included=FLAG,
    rounded=TEXT,
    rates_rounded=TEXT,
    rounding=TEXT,
    rates=many(record(TaxRate, category=TEXT, name=TEXT, percent=EXACT, place=TEXT)),
    untaxed=many(TEXT),
)

ORDERING = record(
    Ordering,
    deposit_percent=EXACT,
    working_minutes=many(WHOLE),
    closed_days=many(DAY),
    lead_days=WHOLE,
    rush_fee=TEXT,
    rush_lead_days=WHOLE,
    cash_step=EXACT,
    cash_rounding=TEXT,
)

JOINING = record(
    Joining,
    material=TEXT,
    uses=many(record(FrameUse, item=TEXT, measure=TEXT, per_unit=EXACT, least=EXACT)),
)

HANGING = record(
    Hanging,
    ring_parts=EXACT,
    ring_inset=TICKS,
    wire_parts=EXACT,
    wire_below=TICKS,
    wire_knot=TICKS,
    wire_step=TICKS,
)

LETTERHEAD = record(
    Letterhead,
    address=many(TEXT),
    telephone=TEXT,
    email=TEXT,
    website=TEXT,
    hours=many(TEXT),
    terms=TEXT,
    logo=TEXT,
)

LEVEL = record(
    PriceLevel,
    code=TEXT,
    name=TEXT,
    factors=many(record(LevelFactor, factor=EXACT, component=TEXT)),
)

CHARGING = record(
    Charging,
    order_minimum=EXACT,
    ending=perhaps(record(PriceEnding, at=TEXT, step=EXACT, ending=EXACT)),
    least_margin=many(record(LeastMargin, percent=EXACT, component=TEXT)),
)

CODE_OR_NONE = perhaps(TEXT)

QUOTE_FORM = record(
    QuoteForm,
    contact=TEXT,
    presets=many(
        record(
            Preset,
            art=TEXT,
            presentation=CODE_OR_NONE,
            mat=CODE_OR_NONE,
            under=CODE_OR_NONE,
            moulding=CODE_OR_NONE,
            glazing=CODE_OR_NONE,
            mounting=CODE_OR_NONE,
            mount=CODE_OR_NONE,
            backing=CODE_OR_NONE,
            finishing=perhaps(many(TEXT)),
        )
    ),
)

SHOP = record(
    Shop,
    code=TEXT,
    name=TEXT,
    currency=TEXT,
    time_zone=TEXT,
    ruler=record(Ruler, unit=TEXT, step=TICKS),
    sizing=SIZING,
    bench=BENCH,
    billing=BILLING,
    safety=SAFETY,
    taxation=TAXATION,
    ordering=ORDERING,
    hanging=HANGING,
    mounting=many(METHOD),
    finishing=many(METHOD),
    joining=many(JOINING),
    quote_valid_days=WHOLE,
    discount_limits=many(record(DiscountLimit, scope=TEXT, percent=EXACT)),
    letterhead=LETTERHEAD,
    condition_terms=many(record(ConditionTerm, code=TEXT, description=TEXT)),
    locale=TEXT,
    groups=many(record(LineGroup, name=TEXT, components=many(TEXT), told=FLAG)),
    levels=many(LEVEL),
    charging=CHARGING,
    quote_form=QUOTE_FORM,
)

RULE = record(
    PriceRule,
    code=TEXT,
    component=TEXT,
    basis=TEXT,
    method=TEXT,
    rate=EXACT,
    brackets=many(record(Bracket, up_to=perhaps(EXACT), rate=EXACT)),
    item=TEXT,
    group=TEXT,
    supply=TEXT,
    charge=TEXT,
    above=EXACT,
    minimum=EXACT,
    set_up=EXACT,
    rounding_step=EXACT,
    tax_category=TEXT,
    applies=TEXT,
    description=TEXT,
)

RULES = many(RULE)
BREAKS = many(record(QuantityBreak, from_quantity=WHOLE, percent=EXACT))

OPERATIONS = many(
    record(
        Operation,
        code=TEXT,
        description=TEXT,
        driver=TEXT,
        unit_minutes=EXACT,
        set_up_minutes=EXACT,
    )
)

HOUR = perhaps(record(Hour, wages=EXACT, overhead=EXACT, productive_hours=EXACT))

MULTIPLIERS = many(
    record(
        Multiplier,
        code=TEXT,
        looks_at=TEXT,
        over=EXACT,
        groups=many(TEXT),
        operations=many(TEXT),
        factor=EXACT,
    )
)
