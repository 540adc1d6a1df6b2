"""The demo data hold together: every item priced and costed, every code known, all of it invented.

Weights are compared with the spans that the trade gives for them (common practice, no source):
4-ply 0.9 to 1.1 kg/m², 8-ply 1.9 to 2.1, foam of 5 mm 0.5 to 0.8, fibreboard of 3 mm 2.1 to 2.5.
"""

from collections import Counter
from fractions import Fraction
from importlib.resources import files

import pytest

from schemas.labour import dump_labour_standard
from schemas.materials.catalogue import dump_cost, dump_item, load_item
from schemas.prices.lists import dump_price_list
from schemas.shop import dump_shop
from service.demo import (
    ITEM_FILES,
    demo_catalogue,
    demo_costs,
    demo_document,
    demo_items,
    demo_jobs,
    demo_labour_standard,
    demo_price_list,
    demo_shop,
)
from service.domain.materials.catalogue import (
    SPACER_GROUP,
    Board,
    Consumable,
    Fillet,
    Glazing,
    Hardware,
    Item,
    Moulding,
)
from service.domain.measure.length import Length, Size
from service.domain.prices.lists import METHODS, PRICED
from service.domain.shop import DRIVERS, Joining, Method

CATALOGUE = demo_catalogue()
SHOP = demo_shop()
PRICES = demo_price_list()
ITEMS = demo_items()
BOARD_COMPONENTS = {"mat": "mat", "mount": "mounting", "backing": "backing"}


def inches(text: str) -> Length:
    return Length.inches(Fraction(text))


# --- the files ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ITEM_FILES)
def test_items_are_written_in_the_very_form_that_the_service_writes(name):
    for document in demo_document(name):
        written = dump_item(load_item(document))
        assert {key: written[key] for key in document} == document


def held(given: object, written: object) -> bool:
    """Whether everything given stands in what was written; what was left out may be filled in."""
    if isinstance(given, dict) and isinstance(written, dict):
        return all(key in written and held(given[key], written[key]) for key in given)
    if isinstance(given, list) and isinstance(written, list):
        return len(given) == len(written) and all(map(held, given, written))
    return given == written


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("shop", dump_shop(SHOP)),
        ("price_list", dump_price_list(PRICES)),
        ("labour_standard", dump_labour_standard(demo_labour_standard())),
        ("costs", [dump_cost(cost) for cost in demo_costs()]),
    ],
)
def test_the_other_files_are_in_the_services_own_form_too(name, written):
    assert held(demo_document(name), written)


def test_there_is_enough_to_choose_from_and_no_code_twice():
    kinds = Counter(type(item) for item in ITEMS)
    assert kinds[Moulding] >= 40
    assert kinds[Board] >= 60
    assert kinds[Glazing] >= 8
    assert kinds[Fillet] >= 6
    assert len({item.code for item in ITEMS}) == len(ITEMS) == len(CATALOGUE.items)
    assert len(demo_jobs()) >= 6


def test_it_is_said_that_everything_is_invented():
    readme = files("service.demo").joinpath("README.md").read_text(encoding="utf-8")
    assert "invented" in readme
    assert "invented" in SHOP.name
    assert all("invented" in rate.name for rate in SHOP.taxation.rates)


# --- prices and costs --------------------------------------------------------------------------


def places(item: Item) -> list[tuple[str, str]]:
    """Every component that an item can stand as, and every way that it is supplied."""
    if isinstance(item, Moulding):
        return [("frame", supply) for supply in item.supplies]
    if isinstance(item, Board):
        return [(BOARD_COMPONENTS[use], "") for use in item.uses]
    if isinstance(item, Consumable) and item.group == SPACER_GROUP:
        return [("finishing", "")]  # a job asks for it by its depth, no method names it
    if isinstance(item, Consumable) and item.group == "ready-made":
        return [("goods", "")]
    if isinstance(item, Consumable):
        methods: dict[str, tuple[Method | Joining, ...]] = {
            "mounting": SHOP.mounting, "finishing": SHOP.finishing, "hardware": SHOP.joining,
        }  # fmt: skip
        return [
            (component, "")
            for component, known in methods.items()
            if any(use.item == item.code for method in known for use in method.uses)
        ]
    named = {Glazing: "glazing", Fillet: "fillet", Hardware: "hardware"}
    return [(named[type(item)], "")]


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.code)
def test_every_item_is_used_somewhere_and_has_a_price_and_a_cost(item):
    assert places(item)
    assert CATALOGUE.costs[item.code]
    for component, supply in places(item):
        rules = PRICES.rules_for(component, item.code, item.group, supply)
        assert "material" in [rule.charge for rule in rules]


def test_every_supply_of_a_moulding_is_priced_apart():
    oak = CATALOGUE.items["MLD-OAK125"]
    rates = [
        PRICES.rules_for("frame", oak.code, oak.group, supply)[0].rate
        for supply in ("length", "chop", "join")
    ]
    assert rates == sorted(set(rates))


def test_every_sheet_that_is_stocked_has_a_cost_of_its_own():
    for item in ITEMS:
        if isinstance(item, Board | Glazing):
            costs = CATALOGUE.costs[item.code]
            assert {c.sheet for c in costs if c.basis == "sheet"} == set(item.sheets)
            assert [c.basis for c in costs].count("square_foot") == 1


def test_every_cost_names_an_item():
    assert {cost.item for cost in demo_costs()} == set(CATALOGUE.items)


def test_the_price_list_shows_all_that_a_list_can_do():
    assert {rule.component for rule in PRICES.rules} == set(PRICED)
    assert {rule.method for rule in PRICES.rules} == set(METHODS)
    for name in ("minimum", "set_up", "rounding_step", "above", "item", "group", "supply"):
        assert any(getattr(rule, name) for rule in PRICES.rules), name
    (openings, *_) = [rule for rule in PRICES.rules if rule.charge == "openings"]
    assert (openings.basis, openings.above) == ("opening", 1)
    assert PRICES.breaks
    assert PRICES.code == "2026-autumn"
    assert PRICES.currency.code == SHOP.currency == "USD"


def test_every_rule_prices_something_and_every_tax_category_is_known():
    groups = {item.group for item in ITEMS}
    known = {rate.category for rate in SHOP.taxation.rates} | {"", *SHOP.taxation.untaxed}
    for rule in PRICES.rules:
        assert not rule.group or rule.group in groups
        assert (
            not rule.item
            or rule.item in CATALOGUE.items
            or rule.component in ("fee", "service", "work")
        )
        assert rule.tax_category in known


# --- the bench and the shop --------------------------------------------------------------------


def test_every_driver_of_bench_time_has_an_operation():
    operations = demo_labour_standard().operations
    assert {operation.driver for operation in operations} == set(DRIVERS)
    assert len({operation.code for operation in operations}) == len(operations)


def test_every_method_uses_what_the_catalogue_has():
    methods = (*SHOP.mounting, *SHOP.finishing)
    assert len({method.code for method in methods}) == len(methods)
    for method in methods:
        for use in method.uses:
            assert use.item in CATALOGUE.items if use.item else CATALOGUE.hardware(use.role)


def test_mounting_that_cannot_be_undone_says_so():
    pressed = [method.code for method in SHOP.mounting if not method.reversible]
    assert pressed == ["dry_mounted"]


@pytest.mark.parametrize("role", ["wire", "hanger", "hook"])
def test_hardware_is_a_ladder_of_ratings(role):
    ratings = [item.rating_kg for item in CATALOGUE.hardware(role)]
    assert len(ratings) >= 5
    assert ratings == sorted(set(ratings))
    assert ratings[-1] >= 4 * SHOP.safety.installer_kg


# --- the items themselves ----------------------------------------------------------------------


def test_boards_weigh_what_boards_weigh():
    spans = {(4, "1/16"): ("0.9", "1.15"), (8, "1/8"): ("1.9", "2.1")}
    for item in ITEMS:
        if isinstance(item, Board) and item.ply in (4, 8):
            low, high = spans[item.ply, "1/16" if item.ply == 4 else "1/8"]
            assert Fraction(low) <= item.weight_kg_per_m2 <= Fraction(high), item.code
    assert Fraction("0.5") <= CATALOGUE.items["BCK-FOAM316"].weight_kg_per_m2 <= Fraction("0.8")
    assert Fraction("2.1") <= CATALOGUE.items["BCK-MDF3"].weight_kg_per_m2 <= Fraction("2.5")


DENSITY = {
    "basswood": 414, "ash": 672, "cherry": 560, "beech": 717, "maple": 706,
    "poplar": 470, "oak": 706, "walnut": 616, "pine": 392, "bamboo": 690,
}  # fmt: skip
"""kg/m³ at 12 % moisture: USDA Wood Handbook, some of it and all of bamboo from memory."""


def test_a_wooden_moulding_weighs_what_its_profile_can_weigh():
    # A profile fills 55 to 75 % of its rectangle (common practice, no source), which is the face
    # by the rabbet's depth and a quarter to half an inch of wood over it. Floaters are left out:
    # their foot is wider than the face.
    for item in ITEMS:
        if isinstance(item, Moulding) and item.material in DENSITY and not item.floater:
            solid = item.face_width.in_millimetres() * DENSITY[item.material] / 10**6
            low = (item.rabbet_depth + inches("1/4")).in_millimetres() * solid * 55 / 100
            high = (item.rabbet_depth + inches("1/2")).in_millimetres() * solid * 75 / 100
            assert low <= item.weight_kg_per_m <= high, item.code


def test_the_catalogue_is_varied():
    mouldings = CATALOGUE.of_type(Moulding)
    assert min(m.face_width for m in mouldings) <= inches("3/8")
    assert max(m.face_width for m in mouldings) >= inches("3")
    assert len([m for m in mouldings if m.floater]) >= 3
    assert len([m for m in mouldings if m.group == "liner"]) >= 2
    assert any(m.pattern_runs for m in mouldings)
    assert {s for m in mouldings for s in m.supplies} == {"length", "chop", "join"}
    assert len({m.material for m in mouldings}) >= 8
    boards = CATALOGUE.of_type(Board)
    assert {b.grade for b in boards} == {1, 2, 3, 4}
    assert {use for b in boards for use in b.uses} == {"mat", "mount", "backing"}
    assert any(b.grain for b in boards)
    sheets = {sheet for b in boards for sheet in b.sheets}
    assert {
        Size(inches(w), inches(h)) for w, h in (("32", "40"), ("40", "60"), ("48", "96"))
    } < sheets
    assert {g.kind for g in CATALOGUE.of_type(Glazing)} == {"glass", "acrylic", "polycarbonate"}
