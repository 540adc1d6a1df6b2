"""Take-off, bench time and depth of whole jobs in the invented shop, each worked by hand.

The jobs are invented. The rules are common practice, no source, where a test names none.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, JobEstimate
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec, MountingSpec
from service.domain.jobs.mat import Grid
from service.domain.materials.catalogue import Catalogue, Consumable
from service.domain.measure.length import Length
from service.domain.shop import Hanging, Method, Sizing, SupplyUse
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
    # Rings a quarter down and 2 in inside, a rise of a tenth, 3 in a side, cut to half an inch:
    # span 20 1/8, 2·√(10.0625² + 2.0125²) + 6 = 26.524, cut 27.
    shop = basis(
        finishing=(WIRED,),
        hanging=Hanging(
            ring_parts=F(4), ring_inset=inch("2"), wire_parts=F(10), wire_knot=inch("3"),
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
    assert (hung.span, hung.wire) == (inch("20 1/8"), inch("27"))


def shadow_box(thickness: str, presentation: str = "float", **more: object) -> JobEstimate:
    """A medal in a box: glass of 2 mm, a spacer of 2 in, mount 1/16 and foam 3/16 in behind."""
    box = JobSpec(
        artwork=art("8 x 10", kind="object", thickness=inch(thickness)),
        presentation=presentation,
        float_margin=inch("2") if presentation == "float" else None,
        glazing=GlazingSpec("CLEAR", inch("2")),
        mounting=MountingSpec("", "WHITE"),
        backing="FOAM",
        frames=(FrameSpec("OAK"),),
    )
    return done(box, shop=with_spacer("2", **more))


def with_spacer(depth: str, **settings: object) -> Basis:
    """The invented shop with a spacer of this depth."""
    shop = basis(**settings)
    spacer = Consumable(code="SPACER", description=depth, thickness=inch(depth), group="spacer")
    items = {**shop.catalogue.items, "SPACER": spacer}
    return replace(shop, catalogue=Catalogue(items, shop.catalogue.costs))


def said(made: JobEstimate) -> dict[str, str]:
    return {advisory.code: advisory.severity for advisory in made.advisories}


@pytest.mark.parametrize("presentation", ["float", "full_bleed"])
def test_an_object_inside_its_space_adds_nothing_to_the_depth(presentation):
    # 2 mm + 2 in + 1/16 + 3/16 in; 1 3/4 in of medal and 1/4 in of clearance fill the 2 in.
    made = shadow_box("1 3/4", presentation)
    assert made.sizes.stack_depth == Length.millimetres(2) + inch("2 1/4")
    assert not {"art_deeper_than_space", "object_near_glazing"} & said(made).keys()


@pytest.mark.parametrize(
    ("thickness", "depth", "code", "severity"),
    [
        ("1 7/8", "2 1/4", "object_near_glazing", "warning"),
        ("2", "2 1/4", "object_near_glazing", "warning"),
        ("2 1/4", "2 1/2", "art_deeper_than_space", "stop"),
    ],
)
def test_an_object_near_its_glazing_is_warned_of_and_a_deeper_one_stopped(
    thickness, depth, code, severity
):
    made = shadow_box(thickness)
    assert said(made)[code] == severity
    assert made.sizes.stack_depth == Length.millimetres(2) + inch(depth)


def test_a_shop_sets_the_clearance_of_objects():
    close = Sizing(object_clearance=inch("1/8"))
    assert "object_near_glazing" not in said(shadow_box("1 7/8", sizing=close))
    assert said(shadow_box("1 15/16", sizing=close))["object_near_glazing"] == "warning"


def test_a_wax_seal_behind_an_inch_of_spacer():
    # published: a charter's wax seal had about 1 in of spacer (FrameCon list, November 2000): the
    # depth is glazing, space, mount and backing.
    seal = JobSpec(
        artwork=art("8 x 10", kind="object", thickness=inch("3/4")),
        presentation="float",
        float_margin=inch("1"),
        glazing=GlazingSpec("PLASTIC", inch("1")),
        mounting=MountingSpec("", "WHITE"),
        backing="FOAM",
        frames=(FrameSpec("OAK"),),
    )
    made = done(seal, shop=with_spacer("1"))
    assert made.sizes.stack_depth == Length.millimetres(3) + inch("1 1/4")


def test_floated_paper_lies_in_its_window_and_art_under_a_mat_lies_under_it():
    # A window of 1/16 in board takes paper of 1/32 in; under an overlapping mat it adds 1/32 in.
    floated = JobSpec(
        artwork=art("8 x 10", thickness=inch("1/32")),
        presentation="float",
        float_margin=inch("1/2"),
        mats=(mat("2"),),
        mounting=MountingSpec("", "WHITE"),
    )
    covered = replace(floated, presentation="overlap", float_margin=None)
    assert done(floated).sizes.stack_depth == inch("1/8")
    assert done(covered).sizes.stack_depth == inch("5/32")


def test_a_fillet_in_the_frame_covers_the_window_of_a_narrow_border():
    # Art 10 x 12 with a border of 3/8: the lip of 1/4 less half of 1/8 leaves 3/16. A fillet of 1/4
    # covers that and 1/16 of the window, so that the border is not seen at all.
    wide = replace(basis().catalogue.items["GILT"], width=inch("1/4"))
    shop = basis()
    items = {**shop.catalogue.items, "GILT": wide}
    lined = replace(shop, catalogue=Catalogue(items, shop.catalogue.costs))
    narrow = JobSpec(
        artwork=art("10 x 12"), presentation="overlap", mats=(mat("3/8"),),
        frames=(FrameSpec("OAK"),),
    )  # fmt: skip
    made = done(narrow, shop=lined)
    assert inch("3/8") - made.sizes.frames[0].hidden() == inch("3/16")
    assert "border_narrower_than_lip" not in said(made)
    filleted = done(replace(narrow, frames=(FrameSpec("OAK", fillet="GILT"),)), shop=lined)
    assert inch("3/8") - filleted.sizes.frames[0].hidden() == -inch("1/16")
    assert said(filleted)["border_narrower_than_lip"] == "warning"


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
