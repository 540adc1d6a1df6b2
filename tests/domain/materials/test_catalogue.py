"""What the shop sells: items that make sense, and no others."""

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.errors import BadValue
from service.domain.materials.catalogue import Board, Catalogue, Glazing, Hardware, Moulding
from service.domain.measure.length import ZERO
from tests.domain.bench_shop import inch, size
from tests.domain.sample_jobs import SHOP

ITEMS = SHOP.catalogue.items
F = Fraction


@pytest.mark.parametrize(
    ("code", "change", "pointer"),
    [
        ("OAK", {"code": ""}, "/code"),
        ("OAK", {"code": "  "}, "/code"),
        ("OAK", {"code": "X" * 41}, "/code"),
        ("OAK", {"face_width": ZERO}, "/face_width"),
        ("OAK", {"rabbet_depth": ZERO}, "/rabbet_depth"),
        ("OAK", {"height": inch("7/16")}, "/height"),
        ("OAK", {"rabbet_width": ZERO}, "/rabbet_width"),
        ("OAK", {"rabbet_width": inch("1 1/4")}, "/rabbet_width"),
        ("OAK", {"weight_kg_per_m": F(-1)}, "/weight_kg_per_m"),
        ("OAK", {"stick_lengths": ()}, "/stick_lengths"),
        ("OAK", {"supplies": ()}, "/stick_lengths"),
        ("OAK", {"stick_lengths": (ZERO,)}, "/stick_lengths"),
        ("FLOAT", {"rabbet_width": inch("1/4")}, "/rabbet_width"),
        ("WHITE", {"thickness": ZERO}, "/thickness"),
        ("WHITE", {"sheets": ()}, "/sheets"),
        ("WHITE", {"sheets": (size("0 x 40"),)}, "/width"),
        ("WHITE", {"weight_kg_per_m2": F(-1)}, "/weight_kg_per_m2"),
        ("WHITE", {"grade": 5}, "/grade"),
        ("WHITE", {"grade": 0}, "/grade"),
        ("WHITE", {"uses": ()}, "/uses"),
        ("WHITE", {"worked_as": "tin"}, "/worked_as"),
        ("CLEAR", {"thickness": ZERO}, "/thickness"),
        ("CLEAR", {"sheets": ()}, "/sheets"),
        ("CLEAR", {"kind": "ice"}, "/kind"),
        ("CLEAR", {"build": "ice"}, "/build"),
        ("CLEAR", {"uv_percent": F(99)}, "/uv_range"),
        ("CLEAR", {"density_kg_per_m3": F(-1)}, "/density_kg_per_m3"),
        ("CLEAR", {"uv_range": "300-380 nm"}, "/uv_range"),
        ("GILT", {"width": ZERO}, "/width"),
        ("GILT", {"depth": ZERO}, "/depth"),
        ("GILT", {"stick_lengths": (ZERO,)}, "/stick_lengths"),
        ("WIRE-S", {"rating_kg": F(-1)}, "/rating_kg"),
    ],
)
def test_an_item_that_makes_no_sense_is_refused_where_it_stands(code, change, pointer):
    with pytest.raises(BadValue) as refused:
        replace(ITEMS[code], **change)
    assert refused.value.where == pointer


def test_a_uv_figure_goes_with_its_range():
    # Published: UV ranges differ by standard, so a percent alone says nothing.
    kept = replace(ITEMS["CLEAR"], uv_percent=F(99), uv_range="300-380 nm")
    assert kept.uv_percent == 99


@pytest.mark.parametrize(("code", "density"), [("CLEAR", 2500), ("PLASTIC", 1190)])
def test_a_sheets_density_is_that_of_its_kind(code, density):
    assert ITEMS[code].density == density


def test_a_sheet_may_have_a_density_of_its_own():
    # Lead glass is heavier than soda-lime (value from memory: 2900 to 4800 kg/m3).
    assert replace(ITEMS["CLEAR"], density_kg_per_m3=F(2900)).density == 2900
    assert replace(ITEMS["CLEAR"], density_kg_per_m3=F(0)) == ITEMS["CLEAR"]


def test_items_of_a_type_come_in_the_order_of_their_codes():
    for kind in (Moulding, Board, Glazing, Hardware):
        codes = [item.code for item in SHOP.catalogue.of_type(kind)]
        assert codes == sorted(codes)
        assert codes


def test_the_ladder_of_hardware_climbs_by_rating_and_leaves_out_what_is_gone():
    ladder = [item.code for item in SHOP.catalogue.hardware("wire")]
    assert ladder == ["WIRE-S", "WIRE-L"]
    gone = replace(ITEMS["WIRE-S"], discontinued=True)
    later = Catalogue({**ITEMS, "WIRE-S": gone}, {})
    assert [item.code for item in later.hardware("wire")] == ["WIRE-L"]
    assert later.hardware("hook") == ()


def test_spacers_are_found_by_their_depth():
    assert SHOP.catalogue.spacers() == {inch("1/8"): ITEMS["SPACER"]}
    gone = replace(ITEMS["SPACER"], discontinued=True)
    assert Catalogue({**ITEMS, "SPACER": gone}, {}).spacers() == {}
