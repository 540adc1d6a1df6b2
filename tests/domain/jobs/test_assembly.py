"""From what is asked for to what can be made: items, defaults, and every fault by its pointer."""

from dataclasses import replace

import pytest

from service.domain.errors import JobRefused
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, GlazingSpec, MountingSpec
from service.domain.jobs.mat import Grid
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.length import ZERO, Sides
from service.domain.shop import Method, SupplyUse
from tests.domain.bench_shop import basis, inch, size
from tests.domain.sample_jobs import (
    BARE,
    CANVAS,
    PLAIN,
    SHOP,
    art,
    job,
    mat,
    placed,
    refusals,
    spec,
    under,
)


def assembled(start=PLAIN, **more):
    """Faults by pointer, of the assembly alone."""
    try:
        assemble(spec(start, **more), SHOP.shop, SHOP.catalogue)
    except JobRefused as refused:
        return {fault.pointer: fault.code for fault in refused.faults()}
    return {}


def test_a_job_gets_its_items_and_the_shops_defaults():
    made = job(overlap=None, mats=(mat(), replace(under(), reveal=None)))
    sizing = SHOP.shop.sizing
    assert made.overlap == sizing.overlap == inch("1/8")
    assert made.mats[1].reveal == Sides.all(sizing.reveal)
    assert made.mats[0].board is SHOP.catalogue.items["WHITE"]
    assert made.frames[0].supply == "length"
    assert made.bottom_weight == ZERO
    assert made.mounting is SHOP.shop.mounting_method("hinged")


def test_each_presentation_gets_its_own_length_and_no_other():
    assert job(BARE, presentation="float").float_margin == SHOP.shop.sizing.float_margin
    assert job(CANVAS).gap == SHOP.shop.sizing.gap
    assert (job(BARE).overlap, job(BARE).float_margin, job(BARE).gap) == (ZERO, ZERO, ZERO)


def test_an_overlap_of_nothing_is_taken_as_said():
    assert job(overlap=ZERO).overlap == ZERO


def test_windows_placed_by_hand_bring_their_artworks():
    made = job(artwork=None, openings=placed(("8 x 10", "2", "2"), ("5 x 7", "12", "2")))
    assert made.artwork == art("8 x 10")
    assert made.artworks() == (art("8 x 10"), art("5 x 7"))


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({"artwork": None}, {"/artwork": "missing"}),
        ({"mats": (mat(board="NONE"),)}, {"/mats/0/board": "unknown_item"}),
        ({"mats": (mat(board="OAK"),)}, {"/mats/0/board": "wrong_kind"}),
        ({"mats": (mat(board="FOAM"),)}, {"/mats/0/board": "wrong_use"}),
        ({"mats": (mat(fillet="WHITE"),)}, {"/mats/0/fillet": "wrong_kind"}),
        ({"mats": (mat(), mat())}, {"/mats/1/border": "border_under"}),
        (
            {"mats": (replace(mat(), reveal=Sides.all(inch("1/4"))),)},
            {"/mats/0/reveal": "reveal_on_top"},
        ),
        ({"fit_to": size("16 x 20")}, {"/mats/0/border": "border_and_fit_to"}),
        ({"mats": (replace(mat(), border=None),)}, {"/mats/0/border": "missing"}),
        ({"bottom_weight": inch("1")}, {"/bottom_weight": "bottom_weight_without_fit_to"}),
        ({"mats": ()}, {"/mats": "needs_mat"}),
        ({"float_margin": inch("1")}, {"/float_margin": "not_for_presentation"}),
        ({"gap": inch("1")}, {"/gap": "not_for_presentation"}),
        ({"glazing": GlazingSpec("NONE")}, {"/glazing/sheet": "unknown_item"}),
        ({"glazing": GlazingSpec("WHITE")}, {"/glazing/sheet": "wrong_kind"}),
        (
            {"glazing": GlazingSpec("CLEAR", inch("3/4"))},
            {"/glazing/spacer": "no_such_spacer"},
        ),
        ({"mounting": MountingSpec("nailed")}, {"/mounting/method": "unknown_method"}),
        ({"mounting": MountingSpec("", "NONE")}, {"/mounting/board": "unknown_item"}),
        ({"backing": "NONE"}, {"/backing/board": "unknown_item"}),
        ({"finishing": ("polish",)}, {"/finishing/0": "unknown_finishing"}),
        ({"finishing": ("wire", "wire")}, {"/finishing/1": "twice"}),
        ({"frames": (FrameSpec("NONE"),)}, {"/frames/0/moulding": "unknown_item"}),
        ({"frames": (FrameSpec("WHITE"),)}, {"/frames/0/moulding": "wrong_kind"}),
        ({"frames": (FrameSpec("FLOAT"),)}, {"/frames/0/moulding": "floater_profile"}),
        ({"frames": (FrameSpec("OAK", sides=5),)}, {"/frames/0/sides": "sides"}),
        ({"frames": (FrameSpec("OAK", fillet="NONE"),)}, {"/frames/0/fillet": "unknown_item"}),
        (
            {"frames": (FrameSpec("OAK", sides=8, fillet="GILT"),)},
            {"/frames/0/fillet": "fillet_sides"},
        ),
    ],
)
def test_a_fault_is_named_where_it_stands(more, expected):
    assert assembled(**more) == expected


@pytest.mark.parametrize(
    ("start", "more", "expected"),
    [
        (BARE, {"mats": (mat(),)}, {"/mats": "no_room_for_mat"}),
        (BARE, {"overlap": inch("1/8")}, {"/overlap": "not_for_presentation"}),
        (BARE, {"fit_to": size("16 x 20")}, {"/fit_to": "no_mat"}),
        (BARE, {"bottom_weight": inch("1")}, {"/bottom_weight": "no_mat"}),
        (BARE, {"openings": Grid(2, 2)}, {"/openings": "no_mat"}),
        (CANVAS, {"mats": (mat(),)}, {"/mats": "no_room_for_mat"}),
        (CANVAS, {"glazing": GlazingSpec("CLEAR")}, {"/glazing": "no_room_for_glazing"}),
        (CANVAS, {"backing": "FOAM"}, {"/backing/board": "no_room_for_board"}),
        (
            CANVAS,
            {"mounting": MountingSpec("", "WHITE")},
            {"/mounting/board": "no_room_for_board"},
        ),
        (CANVAS, {"frames": ()}, {"/frames": "needs_frame"}),
        (CANVAS, {"frames": (FrameSpec("OAK"),)}, {"/frames/0/moulding": "not_a_floater"}),
        (
            CANVAS,
            {"frames": (FrameSpec("FLOAT"), FrameSpec("FLOAT"))},
            {"/frames/1/moulding": "floater_profile"},
        ),
    ],
)
def test_each_presentation_says_what_it_leaves_no_room_for(start, more, expected):
    assert assembled(start, **more) == expected


def test_windows_placed_by_hand_are_not_weighted_at_the_foot():
    given = {
        "artwork": None,
        "openings": placed(("8 x 10", "2", "2")),
        "mats": (replace(mat(), border=None),),
        "fit_to": size("14 x 16"),
    }
    assert assembled(**given) == {}
    weighted = assembled(**given, bottom_weight=inch("1/2"))
    assert weighted == {"/bottom_weight": "bottom_weight_of_placed"}


def changed(*items, **more):
    """The invented catalogue with some items in place of others, some left out."""
    kept = {code: item for code, item in SHOP.catalogue.items.items() if more.get(code, True)}
    return Catalogue({**kept, **{item.code: item for item in items}}, SHOP.catalogue.costs)


def test_what_is_no_longer_sold_is_refused():
    gone = replace(SHOP.catalogue.items["WHITE"], discontinued=True)
    with pytest.raises(JobRefused) as refused:
        assemble(PLAIN, SHOP.shop, changed(gone))
    found = {(fault.pointer, fault.code) for fault in refused.value.faults()}
    assert found == {("/mats/0/board", "discontinued"), ("/mounting/board", "discontinued")}


def test_a_supply_that_the_moulding_does_not_come_in_is_refused():
    oak = replace(SHOP.catalogue.items["OAK"], supplies=("chop",))
    asked = spec(frames=(FrameSpec("OAK", "join"),))
    with pytest.raises(JobRefused, match="supplied as chop") as refused:
        assemble(asked, SHOP.shop, changed(oak))
    assert [f.code for f in refused.value.faults()] == ["not_supplied"]
    assert assemble(PLAIN, SHOP.shop, changed(oak)).frames[0].supply == "chop"


def test_a_method_whose_supplies_the_catalogue_lacks_is_refused():
    asked = spec(finishing=("wire",))
    without = changed(**{"WIRE-S": False, "WIRE-L": False, "HINGE": False})
    with pytest.raises(JobRefused) as refused:
        assemble(asked, SHOP.shop, without)
    assert {f.pointer: f.code for f in refused.value.faults()} == {
        "/mounting/method": "unknown_item",
        "/finishing/0": "no_hardware",
    }


def test_a_shop_without_spacers_takes_any_depth():
    made = assemble(
        spec(glazing=GlazingSpec("CLEAR", inch("3/4"))), SHOP.shop, changed(SPACER=False)
    )
    assert made.glazing.spacer == inch("3/4")
    assert made.glazing.spacer_item is None


def test_all_faults_are_named_at_once_in_the_order_of_the_checks():
    asked = spec(mats=(mat(board="NONE"),), backing="NONE", frames=(FrameSpec("NONE"),))
    with pytest.raises(JobRefused) as refused:
        assemble(asked, SHOP.shop, SHOP.catalogue)
    pointers = [fault.pointer for fault in refused.value.faults()]
    assert pointers == ["/mats/0/board", "/backing/board", "/frames/0/moulding"]
    assert refused.value.where == "/mats/0/board"


def test_the_shops_own_ways_are_told_when_another_is_asked_for():
    glue = Method("glued", "gluing", "pressed_mounts", (SupplyUse("piece", 1, "HINGE"),))
    shop = basis(mounting=(glue,))
    with pytest.raises(JobRefused, match="the shop has glued"):
        assemble(PLAIN, shop.shop, shop.catalogue)


def test_what_makes_sense_is_not_refused():
    assert refusals() == refusals(BARE) == refusals(CANVAS) == {}
