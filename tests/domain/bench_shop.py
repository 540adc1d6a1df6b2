"""A small invented shop for tests of the domain: round figures, so that sums go by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

from service.domain.estimates.calculation import Basis
from service.domain.labour.standard import LabourStandard, Operation
from service.domain.materials.catalogue import (
    Board,
    Catalogue,
    Consumable,
    Fillet,
    Glazing,
    Hardware,
    ItemCost,
    Moulding,
)
from service.domain.measure.length import Length, Size
from service.domain.measure.money import Currency
from service.domain.measure.parse import read_length, read_size
from service.domain.measure.ruler import Ruler
from service.domain.prices.lists import Bracket, PriceList, PriceRule, QuantityBreak
from service.domain.shop import (
    DRIVERS,
    FrameUse,
    Joining,
    Method,
    Shop,
    SupplyUse,
    Taxation,
    TaxRate,
)

F = Fraction
"""Short, since nearly every figure here is one."""


def inch(text: str) -> Length:
    return read_length(text, "in")


def size(text: str) -> Size:
    return read_size(text, "in")


def moulding(code: str, face: str, rabbet: str, **more: object) -> Moulding:
    given = {
        "description": f"Invented moulding {code}",
        "group": "wood",
        "face_width": inch(face),
        "rabbet_width": inch(rabbet),
        "rabbet_depth": inch("1/2"),
        "stick_lengths": (inch("9 ft"),),
        "weight_kg_per_m": F("0.4"),
        "supplies": ("length", "chop", "join"),
    }
    return Moulding(code=code, **{**given, **more})  # type: ignore[arg-type]


def board(code: str, **more: object) -> Board:
    given = {
        "description": f"Invented board {code}",
        "group": "4-ply",
        "thickness": inch("1/16"),
        "sheets": (size("32 x 40"), size("40 x 60")),
        "weight_kg_per_m2": F(1),
        "uses": ("mat", "mount"),
        "ply": 4,
        "grade": 2,
    }
    return Board(code=code, **{**given, **more})  # type: ignore[arg-type]


ITEMS = (
    moulding("OAK", "1 1/4", "1/4"),
    moulding("PLAIN", "1 1/2", "1/4"),
    moulding("LIP", "2", "1/4"),
    moulding("SLIM", "1/2", "3/16", rabbet_depth=inch("3/8"), group="metal"),
    moulding("METAL", "3/8", "1/4", group="metal", material="Aluminium"),
    moulding("FLOAT", "3/8", "0", rabbet_depth=inch("1 1/2"), floater=True),
    board("WHITE"),
    board("BLACK"),
    board("THICK", thickness=inch("1/8"), ply=8, weight_kg_per_m2=F(2)),
    board("WEAVE", grain=True),
    board("PULP", grade=4, group="pulp"),
    board(
        "FOAM",
        thickness=inch("3/16"),
        uses=("backing",),
        ply=None,
        grade=4,
        weight_kg_per_m2=F("0.6"),
        sheets=(size("40 x 60"),),
    ),
    Glazing(
        code="CLEAR",
        description="Picture glass",
        kind="glass",
        group="glass",
        thickness=read_length("2 mm", "mm"),
        sheets=(size("32 x 40"), size("36 x 48")),
    ),
    Glazing(
        code="PLASTIC",
        description="Acrylic 3 mm",
        kind="acrylic",
        group="acrylic",
        thickness=read_length("3 mm", "mm"),
        sheets=(size("48 x 96"),),
    ),
    Glazing(
        code="LAMINATE",
        description="Laminated glass",
        kind="glass",
        group="glass",
        thickness=read_length("4.4 mm", "mm"),
        sheets=(size("32 x 40"),),
        build="laminated",
    ),
    Glazing(
        code="MIRROR",
        description="Mirror",
        kind="glass",
        group="glass",
        thickness=read_length("3 mm", "mm"),
        sheets=(size("32 x 40"),),
        build="mirror",
    ),
    Glazing(
        code="THICK-PLASTIC",
        description="Acrylic 4.5 mm",
        kind="acrylic",
        group="acrylic",
        thickness=read_length("4.5 mm", "mm"),
        sheets=(size("48 x 96"),),
    ),
    Glazing(
        code="TOUGH",
        description="Polycarbonate 3 mm",
        kind="polycarbonate",
        group="acrylic",
        thickness=read_length("3 mm", "mm"),
        sheets=(size("48 x 96"),),
    ),
    Fillet(
        code="GILT",
        description="Gilt fillet",
        width=inch("1/8"),
        depth=inch("1/8"),
        stick_lengths=(inch("9 ft"),),
        weight_kg_per_m=F("0.05"),
    ),
    Hardware(code="WIRE-S", description="Wire, small", role="wire", rating_kg=F(15)),
    Hardware(code="WIRE-L", description="Wire, large", role="wire", rating_kg=F(45)),
    Consumable(code="PAPER", description="Dust cover paper"),
    Consumable(code="HINGE", description="Hinging tissue", grade=1),
    Consumable(code="ANGLE", description="Corner angle with screws"),
    Consumable(code="SPRING", description="Spring clip"),
    Consumable(code="SPACER", description="Spacer 1/8", thickness=inch("1/8"), group="spacer"),
)
COSTS = (
    ItemCost("OAK", "linear_foot", F("2.00")),
    ItemCost("PLAIN", "linear_foot", F("1.50")),
    ItemCost("LIP", "linear_foot", F("3.00")),
    ItemCost("SLIM", "linear_foot", F("1.10")),
    ItemCost("METAL", "linear_foot", F("1.40")),
    ItemCost("FLOAT", "linear_foot", F("1.80")),
    *(ItemCost(code, "sheet", F("8.00")) for code in ("WHITE", "BLACK", "WEAVE", "PULP", "FOAM")),
    ItemCost("THICK", "sheet", F("16.00")),
    ItemCost("CLEAR", "square_foot", F("1.20")),
    ItemCost("PLASTIC", "square_foot", F("3.00")),
    ItemCost("GILT", "linear_foot", F("1.00")),
    ItemCost("WIRE-S", "piece", F("0.50")),
    ItemCost("WIRE-L", "piece", F("0.90")),
    ItemCost("PAPER", "square_foot", F("0.10")),
    ItemCost("HINGE", "piece", F("0.20")),
    ItemCost("ANGLE", "piece", F("0.30")),
    ItemCost("SPRING", "piece", F("0.05")),
    ItemCost("SPACER", "linear_foot", F("0.25")),
)
RULES = (
    PriceRule(
        code="frame",
        component="frame",
        basis="linear_foot",
        method="rate",
        rate=F("6.00"),
        minimum=F(24),
    ),
    PriceRule(
        code="slim",
        component="frame",
        group="metal",
        basis="linear_foot",
        method="markup",
        rate=F(4),
    ),
    PriceRule(
        code="mat",
        component="mat",
        basis="united_inch",
        method="whole",
        brackets=(Bracket(F(36), F(18)), Bracket(F(50), F(26)), Bracket(None, F(40))),
    ),
    PriceRule(
        code="windows",
        component="mat",
        basis="opening",
        method="rate",
        rate=F(4),
        charge="openings",
        above=F(1),
    ),
    PriceRule(
        code="grooves",
        component="mat",
        basis="groove",
        method="rate",
        rate=F("5.50"),
        charge="grooves",
    ),
    PriceRule(
        code="glazing",
        component="glazing",
        basis="square_foot",
        method="rate",
        rate=F("9.20"),
        rounding_step=F("0.25"),
    ),
    PriceRule(
        code="mount",
        component="mounting",
        basis="united_inch",
        method="marginal",
        brackets=(Bracket(F(20), F("0.30")), Bracket(None, F("0.20"))),
    ),
    PriceRule(code="backing", component="backing", basis="sheet", method="rate", rate=F(24)),
    PriceRule(
        code="fillet",
        component="fillet",
        basis="linear_foot",
        method="rate",
        rate=F(3),
        set_up=F(5),
    ),
    PriceRule(code="hardware", component="hardware", basis="piece", method="rate", rate=F("3.50")),
    PriceRule(
        code="finishing", component="finishing", basis="square_foot", method="rate", rate=F("0.75")
    ),
    PriceRule(
        code="spacer",
        component="finishing",
        group="spacer",
        basis="linear_foot",
        method="rate",
        rate=F("0.90"),
    ),
    PriceRule(
        code="hinge",
        component="mounting",
        item="HINGE",
        basis="piece",
        method="rate",
        rate=F("2.50"),
    ),
    PriceRule(
        code="labour",
        component="labour",
        basis="minute",
        method="rate",
        rate=F("0.90"),
        tax_category="labour",
    ),
)


SPECIAL_RULES = (
    PriceRule(
        code="acrylic",
        component="glazing",
        group="acrylic",
        basis="square_foot",
        method="sliding_markup",
        brackets=(Bracket(F(2), F(5)), Bracket(F(4), F("3.5")), Bracket(None, F("2.25"))),
    ),
    PriceRule(
        code="gilt",
        component="fillet",
        item="GILT",
        basis="linear_foot",
        method="sliding_markup",
        brackets=(Bracket(F(1), F("3.333")), Bracket(None, F(2))),
        minimum=F("4.5"),
    ),
    PriceRule(
        code="rush",
        component="fee",
        item="rush",
        basis="piece",
        method="rate",
        set_up=F(35),
        tax_category="labour",
        description="Rush: ready within three days",
    ),
    PriceRule(
        code="packing",
        component="fee",
        item="packing",
        basis="square_foot",
        method="marginal",
        brackets=(Bracket(F(4), F("1.15")), Bracket(None, F("0.85"))),
    ),
    PriceRule(
        code="oversize",
        component="fee",
        item="oversize",
        basis="united_inch",
        method="rate",
        rate=F("0.35"),
        above=F(40),
        applies="always",
    ),
)
"""Fees and sliding markups, beside the plain rules."""


def special(**shop: object) -> Basis:
    """The invented shop with fees and sliding markups in its list."""
    plain = basis(**shop)
    old = plain.price_list
    rules = PriceList("special", old.currency, old.first_day, RULES + SPECIAL_RULES, old.breaks)
    return replace(plain, price_list=rules)


def basis(**shop: object) -> Basis:
    """The invented shop with its catalogue, minutes and price list; `shop` changes its settings."""
    given: dict[str, object] = {
        "code": "test",
        "name": "Invented test shop",
        "currency": "USD",
        "time_zone": "America/New_York",
        "ruler": Ruler("in", inch("1/16")),
        "mounting": (
            Method("hinged", "hinging", "hinged_mounts", (SupplyUse("piece", F(2), "HINGE"),)),
            Method("dry_mounted", "dry mounting", "pressed_mounts", (), reversible=False),
        ),
        "finishing": (
            Method(
                "dust_cover",
                "dust cover",
                "dust_cover_square_feet",
                (SupplyUse("square_foot", F(1), "PAPER"),),
            ),
            Method("wire", "wire", "hanging_sets", (SupplyUse("piece", F(1), role="wire"),)),
        ),
        "joining": (
            Joining(
                material="aluminium",
                uses=(
                    FrameUse(item="ANGLE", measure="corner"),
                    FrameUse(item="SPRING", measure="side_foot", least=F(2)),
                ),
            ),
        ),
        "taxation": Taxation(
            rates=(TaxRate(category="goods", name="County", percent=F("7.25")),),
            untaxed=("labour",),
        ),
    }
    costs: dict[str, tuple[ItemCost, ...]] = {cost.item: (cost,) for cost in COSTS}
    return Basis(
        Shop(**{**given, **shop}),  # type: ignore[arg-type]
        Catalogue({item.code: item for item in ITEMS}, costs),
        LabourStandard(
            "test",
            F(30),
            tuple(Operation(f"op_{name}", name, name, F(1), F(1, 2)) for name in DRIVERS),
        ),
        PriceList(
            "test-list", Currency("USD"), date(2026, 1, 1), RULES, (QuantityBreak(5, F(10)),)
        ),
    )
