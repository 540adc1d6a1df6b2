"""Take-off and bench time of whole jobs in the invented shop, each worked by hand.

The jobs are invented. The rules are common practice, no source, where a test names none.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, JobSpec, MountingSpec
from service.domain.jobs.mat import Grid
from service.domain.materials.catalogue import Catalogue
from service.domain.shop import Hanging, Method, SupplyUse
from tests.domain.bench_shop import basis, inch, size
from tests.domain.sample_jobs import art, done, mat, refusals, under

F = Fraction


def quantities(made: JobEstimate) -> dict[str, Fraction]:
    """What one piece uses of each item before billing, in the supplies' own measures."""
    found: dict[str, Fraction] = {}
    for use in made.uses:
        measure = use.feet if use.feet is not None else use.area
        found[use.item.code] = use.pieces if measure is None else measure
    return found


def units(made: JobEstimate) -> dict[str, Fraction]:
    return {time.operation.driver: time.units for time in made.times}


TWELVE = JobSpec(
    artwork=art("4 x 6", kind="photograph"),
    presentation="overlap",
    overlap=inch("1/8"),
    openings=Grid(3, 4, inch("1")),
    mats=(mat("2"), under("1/4")),
    mounting=MountingSpec("corners", "WHITE"),
)
"""A double mat with twelve windows: top windows 4 1/4 x 6 1/4, package 24 x 24 3/4."""


@pytest.mark.parametrize(
    ("uses", "item", "quantity"),
    [
        # four corners a picture; 20 in of edge and 24 sq in of film a picture
        (SupplyUse("piece", F(4), "HINGE"), "HINGE", F(48)),
        (SupplyUse("perimeter_foot", F(1), "PAPER"), "PAPER", F(20)),
        (SupplyUse("square_foot", F(1), "PAPER"), "PAPER", F(2)),
        # film over the whole mount instead: 24 x 24 3/4 = 594 sq in
        (SupplyUse("square_foot", F(1), "PAPER", covers="package"), "PAPER", F(594, 144)),
    ],
)
def test_twelve_pictures_take_twelve_mountings(uses, item, quantity):
    shop = basis(mounting=(Method("corners", "paper corners", "hinged_mounts", (uses,)),))
    made = done(TWELVE, shop=shop)
    assert made.sizes.package == size("24 x 24 3/4")
    assert quantities(made)[item] == quantity
    assert units(made)["hinged_mounts"] == 12
    assert (units(made)["openings"], units(made)["bevel_cuts"]) == (24, 96)


def test_the_under_mat_of_twelve_windows_is_billed_by_its_own_blank():
    # 1/8 in less a side: 23 3/4 x 24 1/2 in, 48 1/4 united inches, billed 49; the top mat 48 3/4.
    shop = basis(mounting=(Method("corners", "paper corners", "hinged_mounts"),))
    made = done(TWELVE, shop=shop)
    under_mat = next(use for use in made.uses if use.pointer == "/mats/1")
    assert under_mat.size == size("23 3/4 x 24 1/2")


EDGES = Method(
    "edges",
    "edges sealed",
    "",
    (
        SupplyUse("perimeter_foot", F(1), "PAPER", covers="package"),
        SupplyUse("perimeter_foot", F(1), "HINGE", covers="rabbet"),
    ),
)
WIRED = Method("wired", "wire", "hanging_sets", (SupplyUse("wire_foot", F(1), role="wire"),))


def test_tape_goes_by_the_edge_that_it_covers_and_wire_by_its_length():
    # Art 22 x 28 in oak of 1 1/4 with a lip of 1/4: outside 24 1/8 x 30 1/8. Tape round the package
    # 100 in, round the rabbet 100 1/2 in. Rings 30 1/8 / 3 down and 1 in: span 22 1/8, rise a
    # fifth, 4.425: 2·√(11.0625² + 4.425²) = 23.829; with 4 in a side 31.829, cut 32 in.
    shop = basis(finishing=(EDGES, WIRED))
    bare = JobSpec(
        artwork=art("22 x 28"),
        presentation="full_bleed",
        frames=(FrameSpec("OAK"),),
        finishing=("edges", "wired"),
    )
    made = done(bare, shop=shop)
    found = quantities(made)
    assert (found["PAPER"], found["HINGE"]) == (F(100, 12), F("100.5") / 12)
    assert found["WIRE-S"] == F(32, 12)
    assert made.hanging is not None
    assert (made.hanging.span, made.hanging.wire) == (inch("22 1/8"), inch("32"))
    assert made.hanging.rise == inch("22 1/8") - 4 * inch("4.425")


def test_a_shop_may_hang_otherwise():
    # Rings a quarter down and 1/2 in inside, a rise of a tenth, 3 in a side, cut to half an inch:
    # span 23 1/8, 2·√(11.5625² + 2.3125²) + 6 = 29.583, cut 30.
    shop = basis(
        finishing=(WIRED,),
        hanging=Hanging(
            ring_parts=F(4), ring_inset=inch("1/2"), wire_parts=F(10), wire_knot=inch("3"),
            wire_step=inch("1/2"),
        ),
    )  # fmt: skip
    bare = JobSpec(
        artwork=art("22 x 28"),
        presentation="full_bleed",
        frames=(FrameSpec("OAK"),),
        finishing=("wired",),
    )
    hung = done(bare, shop=shop).hanging
    assert hung is not None
    assert (hung.span, hung.wire) == (inch("23 1/8"), inch("30"))


METAL = JobSpec(artwork=art("18 x 30"), presentation="full_bleed", frames=(FrameSpec("METAL"),))


def pieces(made: JobEstimate) -> dict[str, Fraction]:
    return {use.item.code: use.pieces for use in made.uses if use.component == "hardware"}


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        # Sides of 18 in take two springs each, for two feet begun; sides of 30 in three.
        ({}, {"ANGLE": 4, "SPRING": 2 * 2 + 2 * 3}),
        ({"frames": (FrameSpec("METAL", "chop"),)}, {"ANGLE": 4, "SPRING": 10}),
        ({"frames": (FrameSpec("METAL", "join"),)}, {"SPRING": 10}),
        # A side of 8 in takes two all the same, and one of exactly 24 in two.
        ({"artwork": art("8 x 24")}, {"ANGLE": 4, "SPRING": 8}),
        # An octagon of 20 in has sides of 20·tan 22.5° = 8.28 in: two springs each.
        (
            {"artwork": art("20 x 20"), "frames": (FrameSpec("METAL", sides=8),)},
            {"ANGLE": 8, "SPRING": 16},
        ),
        ({"frames": (FrameSpec("OAK"),)}, {}),
    ],
)
def test_an_aluminium_frame_takes_corner_angles_and_springs(more, expected):
    # common practice, no source: one set of angles a corner; a spring for every foot begun of each
    # side, two at least.
    assert pieces(done(replace(METAL, **more))) == expected


def test_corner_angles_and_springs_are_lines_of_the_quote():
    made = done(replace(METAL, quantity=3))
    lines = {line.item: (line.component, line.quantity, line.pieces) for line in made.lines}
    assert lines["ANGLE"] == ("hardware", 4, 3)
    assert lines["SPRING"] == ("hardware", 10, 3)


def test_a_frame_whose_hardware_the_catalogue_lacks_is_refused():
    shop = basis()
    items = {code: item for code, item in shop.catalogue.items.items() if code != "ANGLE"}
    without = replace(shop, catalogue=Catalogue(items, shop.catalogue.costs))
    with pytest.raises(JobRefused) as refused:
        done(METAL, shop=without)
    (fault,) = refused.value.faults()
    assert (fault.pointer, fault.code) == ("/frames/0/moulding", "unknown_item")
    assert "takes ANGLE" in fault.detail


def test_a_groove_half_an_inch_outside_its_window():
    # published: a border of 3 in with its groove at 2 1/2 in, which is 1/2 in outside the window
    # (a cutter's manual). Art 8 x 10, overlap 1/8: window 7 3/4 x 9 3/4 at 3 in, so that the groove
    # is 8 3/4 x 10 3/4 and begins 2 1/2 in from the edges.
    grooved = JobSpec(
        artwork=art("8 x 10"),
        presentation="overlap",
        overlap=inch("1/8"),
        mats=(mat("3", grooves=(inch("1/2"),), ruled_lines=(inch("1/4"), inch("3/4"))),),
    )
    made = done(grooved)
    (blank,) = [piece for piece in made.pieces if piece.part == "mat"]
    (groove,) = blank.grooves
    assert (groove.x, groove.y, groove.size) == (
        inch("2 1/2"),
        inch("2 1/2"),
        size("8 3/4 x 10 3/4"),
    )
    assert [line.x for line in blank.ruled_lines] == [inch("2 3/4"), inch("2 1/4")]
    assert (units(made)["v_grooves"], units(made)["ruled_lines"]) == (1, 2)
    (line,) = [line for line in made.lines if line.rule.charge == "grooves"]
    assert (line.basis, line.quantity, line.amount.text()) == ("groove", 1, "5.50")


def test_the_grooves_of_an_under_mat_are_measured_on_its_own_blank():
    # The under mat's blank is 1/8 smaller a side: its window at 2 + 1/4 - 1/8, the line 1/8 out.
    ruled = JobSpec(
        artwork=art("8 x 10"), presentation="overlap",
        mats=(mat("2"), under("1/4", ruled_lines=(inch("1/8"),))),
    )  # fmt: skip
    below = [piece for piece in done(ruled).pieces if piece.part == "mat"][1]
    assert below.ruled_lines[0].x == inch("2")


def test_a_groove_that_is_asked_for_twice_is_refused():
    twice = mat(grooves=(inch("1/2"), inch("1/2")))
    assert refusals(mats=(twice,)) == {"/mats/0/grooves/1": "twice"}


def test_twelve_frames_of_six_photographs_mount_seventy_two_pictures():
    # The demo's regatta: six sets of corners a frame, and 10 min to hold each of 72 photographs;
    # the aluminium frame of 18 x 17 takes four angles and two springs a side.
    shop = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
    request = read(QUOTE_REQUEST, demo_jobs()["six_photographs"], unit="in")
    made = estimate_job(assemble(request.jobs[0], shop.shop, shop.catalogue), shop)
    lines = {line.item: (line.quantity, line.pieces) for line in made.lines}
    assert lines["SUP-CORNER"] == (6, 12)
    assert lines["SUP-ANGLE"] == (4, 12)
    assert lines["SUP-SPRING"] == (8, 12)
    (hinging,) = [time for time in made.times if time.operation.code == "hinge"]
    assert hinging.minutes == 10 * 6 * 12
