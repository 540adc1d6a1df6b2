"""Every material is worked in its own way, and in no way that it forbids.

Sources stand beside the rows; the rest is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.domain.bench.materials import MATERIALS, WAYS
from service.domain.errors import BadValue
from service.domain.estimates.calculation import Basis
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import FrameSpec, GlazingSpec, MatSpec, MountingSpec
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.length import Sides
from service.domain.shop import Bench, MaterialWay
from service.domain.tickets.cautions import CAUTIONS
from service.domain.tickets.model import CutTicket
from tests.domain.bench_shop import inch, size
from tests.domain.tickets.shop_jobs import changes, every_material, lines, spec, steps, ticket

SHOP = every_material()


def glazed(sheet: str, shop: Basis = SHOP) -> CutTicket:
    return ticket(spec(glazing=GlazingSpec(sheet)), shop)


def backed(board: str, shop: Basis = SHOP) -> CutTicket:
    return ticket(spec(backing=board), shop)


def framed(moulding: str, **more: object) -> CutTicket:
    return ticket(spec(frames=(FrameSpec(moulding),), **more), SHOP)


def cautioned(made: CutTicket, work: str) -> set[str]:
    return {code for step in steps(made, work) for code in step.cautions}


def test_plain_glass_is_scribed_once_and_broken_at_once() -> None:
    """Never over a line again, oil before, nothing between scribe and break.

    Glass-working course slide, protolab.certifitrax.com; trade column, agrrmag.com, Feb 2013.
    """
    said = lines(glazed("CLEAR"), "glazing")
    assert said[0] == "Glazing (3): do not go over a scribed line again."
    assert said[1:] == [
        "Oil and scribe Glazing (3): width 21 1/8 in, at the arm stop, once.",
        "Break Glazing (3): at once, over an edge.",
        "Oil and scribe Glazing (3): height 26 3/4 in, at the arm stop, once.",
        "Break Glazing (3): at once, over an edge.",
    ]


def test_laminated_glass_is_scribed_on_both_faces_and_its_film_parted() -> None:
    """2 x (oil, score, break) and one film cut a dimension: agrrmag.com, March 2013."""
    made = glazed("LAMINATED")
    said = lines(made, "glazing")
    verbs = [line.split(" Glazing")[0] for line in said if "do not" not in line]
    assert verbs == 2 * [
        "Oil and scribe", "Break", "Turn", "Oil and scribe", "Break", "Part the film of",
    ]  # fmt: skip
    assert "Glazing (3): do not break by one scribe." in said
    assert cautioned(made, "glazing") == {"glass", "blade", "trained"}


@pytest.mark.parametrize(
    ("sheet", "side", "ban"),
    [
        # The side follows the sheet's label: glasstips.blogspot.com tells the faces apart only.
        ("COATED", "the side up that its maker marks as uncoated", "do not touch the coating"),
        # win-doormachinery.com, notice of 2018.
        ("MIRROR", "the glass side up", "do not scribe the silvered side"),
    ],
)
def test_a_face_that_must_not_be_scribed_lies_down(sheet: str, side: str, ban: str) -> None:
    said = lines(glazed(sheet), "glazing")
    assert side in said[0]
    assert any(ban in line for line in said)


def test_coated_laminate_is_ordered_to_size_first_of_all() -> None:
    made = glazed("LAMCOAT")
    assert not steps(made, "glazing")
    assert [step.work for step in made.steps[:2]] == ["take_in", "order"]
    assert lines(made, "order")[1:] == [
        "Order Glazing (3): 1 cut to size, width 21 1/8 in, height 26 3/4 in.",
        "Check on delivery Glazing (3): 1 cut to size, width 21 1/8 in, height 26 3/4 in.",
    ]
    assert {cut.by for cut in steps(made, "order")[0].size_cuts} == {"ordered"}


def test_polycarbonate_is_never_scored() -> None:
    """It bends and does not break: ermax-design.com."""
    made = glazed("POLY")
    said = lines(made, "glazing")
    assert not any(line.startswith(("Score", "Snap", "Oil")) for line in said)
    assert "Glazing (3): do not score, since it does not snap." in said
    assert changes(made, "glazing") == ["plastics blade", inch("21 1/8"), inch("26 3/4")]
    assert cautioned(made, "glazing") == {"saw", "chips", "trained"}


@pytest.mark.parametrize(
    ("sheet", "limit", "verb"),
    [
        # 1/8 in: thehousingforum.com; 3 mm is within it.
        ("PLASTIC", "1/8", "Score"),
        ("THICKAC", "1/8", "Saw"),
        # A shop that snaps up to 1/4 in: engineerfix.com.
        ("THICKAC", "1/4", "Score"),
        ("PLASTIC", "1/16", "Saw"),
    ],
)
def test_acrylic_snaps_up_to_the_shops_limit(sheet: str, limit: str, verb: str) -> None:
    shop = every_material(bench=Bench(thickest_snap=inch(limit)))
    made = glazed(sheet, shop)
    assert any(line.startswith(verb) for line in lines(made, "glazing"))
    wanted = {"snap", "blade"} if verb == "Score" else {"saw", "chips", "trained"}
    assert cautioned(made, "glazing") == wanted
    assert "Peel the film off Glazing (3): both faces." in lines(made, "package")


def test_fibreboard_meets_a_saw_and_no_mat_blade() -> None:
    made = backed("FIBRE")
    (sawn,) = [step for step in steps(made, "size") if step.machine == "saw"]
    assert sawn.lines == (
        "Backing (5): do not cut with a mat blade.",
        "Saw Backing (5): width 21 1/8 in, at the saw fence, kerf 1/8 in on the waste side.",
        "Saw Backing (5): height 26 3/4 in, at the saw fence, kerf 1/8 in on the waste side.",
    )
    assert set(sawn.cautions) == {"saw", "dust", "trained"}
    others = [step for step in steps(made, "size") if step is not sawn]
    assert all(cut.piece != 5 for step in others for cut in step.size_cuts)


def test_board_too_thick_for_the_rail_is_cut_at_the_table_in_passes() -> None:
    shop = every_material(bench=Bench(table_passes=4))
    said = [line for line in lines(backed("FOAM12", shop), "size") if "Backing" in line]
    assert said == [
        "Cut Backing (5): width 21 1/8 in, along a steel straightedge on the table, 4 passes.",
        "Cut Backing (5): height 26 3/4 in, along a steel straightedge on the table, 4 passes.",
    ]


def test_card_named_as_mat_board_is_cut_with_the_mats() -> None:
    (step,) = steps(backed("CARD"), "size")
    assert {cut.piece for cut in step.size_cuts} == {1, 2, 4, 5}


def test_an_aluminium_frame_is_neither_glued_nor_pointed() -> None:
    """Non-ferrous blade, burr off; three sides, the package, the fourth side, springs.

    Package 21 1/8 x 26 3/4 in: 2 springs on each 21 1/8 (2 feet begun), 3 on each 26 3/4 (3 feet
    begun): 2·2 + 2·3 = 10. Common practice, no source.
    """
    made = framed("ALU")
    assert changes(made, "rails", "saw_blade") == ["non-ferrous blade"]
    assert "Take the burr off both ends of Rails, top and bottom (6)." in lines(made, "rails")
    assert cautioned(made, "rails") == {"saw", "metal_saw", "trained"}
    everything = " ".join(line for step in made.steps for line in step.lines)
    assert "glue and pins" not in everything
    assert "points" not in everything
    order = [step.work for step in made.steps]
    assert (
        order.index("join") < order.index("hangers") < order.index("package") < order.index("fit")
    )
    assert lines(made, "join")[1].startswith("Join 3 sides of the frame: ")
    assert lines(made, "fit") == [
        "Slide the package into the frame, top edge first, from the bottom.",
        "Close the frame: the bottom side, 2 corners, corner angles and screws of ANGLE.",
        "Check the frame: both diagonals equal.",
        "Press the package forward in the frame: 10 spring clips of SPRING in the channel.",
    ]
    assert not cautioned(made, "fit") & {"points", "joiner"}
    assert ("SPRING", 10) in [(line.item, line.quantity) for line in made.supplies]


def test_a_frame_of_fibreboard_is_joined_as_wood() -> None:
    made = framed("WRAPPED")
    assert "glue and pins or wedges" in lines(made, "join")[0]
    assert {"saw", "dust", "trained"} <= cautioned(made, "rails")


def test_a_metal_floater_is_closed_before_it_is_filled() -> None:
    made = framed(
        "ALUFLOAT",
        artwork=Artwork(size("16 x 20"), inch("3/4"), "canvas"),
        presentation="floater",
        overlap=None,
        mats=(),
        glazing=None,
        mounting=MountingSpec("screwed"),
        backing="",
        finishing=(),
    )
    assert "4 corners, corner angles and screws of ANGLE." in lines(made, "join")[1]
    assert lines(made, "fit")[-2] == "Fix the art in the frame: four screws from behind."


def test_a_shop_orders_what_its_bench_does_not_work() -> None:
    shop = every_material(bench=Bench(ways=(MaterialWay("wood_panel", "order"),)))
    made = backed("FIBRE", shop)
    assert any(line.startswith("Order Backing (5)") for line in lines(made, "order"))
    assert made.pieces[4].notes == ("ordered cut to size: this bench does not cut it",)


@pytest.mark.parametrize(
    ("material", "way"),
    [("polycarbonate", "snap"), ("wood_panel", "blade"), ("metal", "chop"), ("glue", "saw")],
)
def test_a_shop_cannot_choose_a_way_that_the_material_forbids(material: str, way: str) -> None:
    with pytest.raises(BadValue):
        MaterialWay(material, way)  # type: ignore[arg-type]


def test_a_way_of_the_shop_changes_the_rails() -> None:
    shop = every_material(bench=Bench(ways=(MaterialWay("wood", "chop"),)))
    made = ticket(spec(), shop)
    assert lines(made, "rails")[0].startswith("Chop Rails, top and bottom (6): 2 of OAK")
    assert cautioned(made, "rails") == {"chopper", "trained"}


def test_every_material_can_be_cut_and_every_caution_is_spelt_out() -> None:
    for code, material in MATERIALS.items():
        assert material.cut_by[-1] == "order", code
        assert set(material.cut_by) <= set(WAYS)
        assert {*material.cut_by} - {"order"} <= set(material.cautions), code
        assert {c for codes in material.cautions.values() for c in codes} <= set(CAUTIONS)
        assert ("saw" in material.cut_by) == bool(material.saw_blade)


CUT_DRIVERS = {
    "Oil and scribe": "glass_scores",
    "Score": "acrylic_scores",
    "Saw": "plastic_saw_cuts",
    "Order": "ordered_sheets",
}


@pytest.mark.parametrize(
    "sheet",
    ["CLEAR", "COATED", "LAMINATED", "LAMCOAT", "MIRROR", "PLASTIC", "THICKAC", "POLY"],
)
@pytest.mark.parametrize("reach", ["120", "20"])
def test_what_is_charged_for_a_lite_is_what_its_ticket_says(sheet: str, reach: str) -> None:
    shop = every_material(bench=Bench(panel_reach=inch(reach)))
    made = ticket(spec(glazing=GlazingSpec(sheet)), shop)
    printed = [line for step in made.steps for line in step.lines if "Glazing (3)" in line]
    verbs = {verb for verb in CUT_DRIVERS for line in printed if line.startswith(verb)}
    charged = {CUT_DRIVERS[verb] for verb in verbs}
    if sheet == "LAMINATED":
        charged = {"laminated_cuts"}
    timed = {share.operation.removeprefix("op_") for step in made.steps for share in step.shares}
    assert timed & {*CUT_DRIVERS.values(), "laminated_cuts"} == charged


def test_a_metal_octagon_is_open_as_wide_as_its_package() -> None:
    """Common practice, no source: between two sides that face each other the package slides in.

    Of eight sides five are joined by four corners; three, joined by two, close it by two more.
    """
    made = ticket(
        spec(
            artwork=Artwork(size("12 x 12")),
            presentation="full_bleed",
            overlap=None,
            mats=(),
            mounting=None,
            frames=(FrameSpec("ALU", sides=8),),
            finishing=(),
        ),
        SHOP,
    )
    angles = "corner angles and screws of ANGLE"
    assert lines(made, "join")[1:] == [
        f"Join 5 sides of the frame: Rails, all sides (3), 4 corners, {angles}.",
        f"Join the other 3 sides of the frame: 2 corners, {angles}.",
        "Leave the bottom 3 sides off the frame.",
    ]
    assert lines(made, "fit")[1] == f"Close the frame: the bottom 3 sides, 2 corners, {angles}."


@pytest.mark.parametrize(
    ("thickness", "ply", "passes"),
    [("1/16", 4, ""), ("3/32", 6, ""), ("1/8", 8, ", 2 passes"), ("3/16", 12, ", 3 passes")],
)
def test_thick_mat_board_takes_more_passes_of_the_blade(
    thickness: str, ply: int, passes: str
) -> None:
    """Common practice, no source: 8-ply in two passes, 12-ply in three."""
    thick = replace(SHOP.catalogue.items["THICK"], thickness=inch(thickness), ply=ply)
    shop = replace(SHOP, catalogue=Catalogue({**SHOP.catalogue.items, "THICK": thick}, {}))
    made = ticket(spec(mats=(MatSpec("THICK", border=Sides.all(inch("3"))),), mounting=None), shop)
    sized = [line for line in lines(made, "size") if "Top mat" in line]
    assert len(sized) == 2
    assert all(line.endswith(f", at the arm stop{passes}.") for line in sized)
    cut = [line for line in lines(made, "window") if line.startswith("Cut Top mat")]
    assert len(cut) == 4
    assert all(line.endswith(f" 3{passes}.") for line in cut)
    # Each pass after the first, of two cuts to size and four sides of the window.
    extra = {share.operation: share for step in made.steps for share in step.shares}
    assert ("op_extra_passes" in extra) == bool(passes)


def test_a_shop_passes_the_blade_as_often_as_it_likes() -> None:
    shop = every_material(bench=Bench(blade_passes=()))
    made = ticket(spec(mats=(MatSpec("THICK", border=Sides.all(inch("3"))),)), shop)
    assert not any("passes" in line for step in made.steps for line in step.lines)


def test_machines_and_laminated_glass_are_for_a_trained_hand() -> None:
    """Common practice, no source."""
    assert "trained" in cautioned(glazed("LAMINATED"), "glazing")
    assert "trained" in cautioned(glazed("POLY"), "glazing")
    assert "trained" not in cautioned(glazed("CLEAR"), "glazing")
    assert "trained" in cautioned(framed("ALU"), "rails")
    assert "trained" not in cautioned(framed("ALU"), "join")
    assert all(material.who["order"] == "supplier" for material in MATERIALS.values())
