"""What holds the contents of a frame, and other lines that an apprentice could not follow once.

Common practice, no source: points need 1/8 in of wood behind the package (a setting), offset clips
bridge up to 1/2 in, metal frames have a channel.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec
from service.domain.jobs.mat import MatSpec
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.length import Sides
from service.domain.shop import Bench, MaterialWay, SupplyUse
from service.domain.tickets.model import TicketRefused
from tests.domain.bench_shop import inch, size
from tests.domain.tickets.shop_jobs import every_material, lines, spec, steps, ticket

BARE = JobSpec(
    artwork=Artwork(size("8 x 10")), presentation="full_bleed", frames=(FrameSpec("OAK"),)
)
"""An 8 x 10 in oak and nothing else: no sheets, so no package."""


def rabbet(depth: str, code: str = "OAK"):
    """The shop, with one moulding's rabbet so deep."""
    shop = every_material()
    deep = replace(shop.catalogue.items[code], rabbet_depth=inch(depth))
    items = {**shop.catalogue.items, code: deep}
    return replace(shop, catalogue=Catalogue(items, shop.catalogue.costs))


@pytest.mark.parametrize(
    ("depth", "held"),
    [
        # Two mats, mount and art: 3 x 1/16 + 1/64 = 13/64.
        ("21/64", "points"),  # 1/8 left
        ("20/64", "flat clips"),  # 7/64 left
        ("13/64", "flat clips"),  # flush
        ("1/8", "offset clips of ≈1/16 in"),  # proud by 5/64
    ],
)
def test_points_need_wood_behind_the_package(depth: str, held: str) -> None:
    made = ticket(spec(glazing=None, backing=""), rabbet(depth))
    assert f"Fix the package in the frame: {held}." in lines(made, "fit")


def test_what_stands_out_further_than_clips_reach_gets_a_rabbet_extension() -> None:
    thick = replace(spec().artwork, thickness=inch("1"))
    made = ticket(spec(artwork=thick, glazing=None, backing=""), rabbet("1/2"))
    # 3/16 of boards and 1 in of art in 1/2 in: it stands out by 11/16 in.
    # With 1/8 in for points behind it the extension is 13/16 in deep.
    assert lines(made, "fit") == [
        "Screw a rabbet extension on the back of the frame: 13/16 in deep, all round.",
        "Lay the package in the frame, face down.",
        "Fix the package in the frame: points.",
    ]


def test_a_package_deeper_than_a_metal_channel_stops_the_ticket() -> None:
    with pytest.raises(TicketRefused, match="does not slide in"):
        ticket(spec(frames=(FrameSpec("ALU"),)), rabbet("3/8", "ALU"))


def test_art_without_any_sheet_is_laid_into_the_frame_by_itself() -> None:
    assert lines(ticket(BARE), "fit")[0] == "Lay the art in the frame, face down."


def test_no_corners_are_cut_off_without_a_sheet() -> None:
    octagon = replace(BARE, artwork=Artwork(size("8 x 8")), frames=(FrameSpec("OAK", "length", 8),))
    assert not steps(ticket(octagon), "corners")


def test_no_package_is_sealed_without_a_sheet() -> None:
    assert not steps(ticket(replace(BARE, finishing=("sealed",)), every_material()), "seal")


def test_no_rabbet_is_sealed_without_a_frame() -> None:
    asked = {"frames": (), "finishing": ("rabbet_tape", "sealed")}
    made = ticket(spec(**asked), every_material())
    assert not steps(made, "rabbet")
    assert steps(made, "seal")


def test_the_film_is_off_before_a_spacer_is_stuck_to_plastic() -> None:
    made = ticket(spec(glazing=GlazingSpec("PLASTIC", inch("1/8")), backing=""), every_material())
    said = [line for step in made.steps for line in step.lines]
    (peel,) = [at for at, line in enumerate(said) if line.startswith("Peel the film off")]
    (stick,) = [at for at, line in enumerate(said) if line.startswith("Stick the spacer")]
    assert peel < stick


def test_what_is_ordered_is_ordered_with_its_mitre() -> None:
    ways = (MaterialWay("wood", "order"), MaterialWay("fillet", "order"))
    mat = MatSpec("WHITE", border=Sides.all(inch("3")), fillet="GILT")
    made = ticket(spec(mats=(mat,), backing=""), every_material(bench=Bench(ways=ways)))
    # Art 16 3/8, overlap 1/8 and a fillet of 1/8: the mat's window is 16 3/8 wide; its package
    # 22 3/8, the rabbet 22 1/2, the outside with a face of 1 1/4 and a lip of 1/4 24 1/2.
    ordered = lines(made, "order")
    rails = "Rails, top and bottom (4): 2 cut to size, long point 24 1/2 in, mitre 45°."
    fillet = "Fillet of mat 1, top and bottom (6): 2 cut to size, long point 16 3/8 in, mitre 45°."
    assert {f"Order {rails}", f"Order {fillet}"} <= set(ordered)
    assert not any(line.startswith("Mitre") for line in lines(made, "fillet"))


def test_thick_acrylic_is_sawn_even_where_the_shop_snaps_acrylic() -> None:
    shop = every_material(bench=Bench(ways=(MaterialWay("acrylic", "snap"),)))
    made = ticket(spec(glazing=GlazingSpec("THICKAC"), backing=""), shop)
    assert any(line.startswith("Saw Glazing") for line in lines(made, "glazing"))


def test_wire_by_the_foot_is_no_piece() -> None:
    shop = every_material()
    wire = next(method for method in shop.shop.finishing if method.code == "wire")
    by_foot = replace(wire, uses=(SupplyUse("wire_foot", Fraction(1), role="wire"),))
    own = replace(shop.shop, finishing=(by_foot,))
    made = ticket(spec(finishing=("wire",), quantity=2), replace(shop, shop=own))
    (use,) = made.hardware
    # Golden: the outside is 23 1/4 wide, so a span of 21 1/4 takes 31 in: twice 31/12 ft.
    assert (use.quantity, use.unit) == (Fraction(31, 6), "linear_foot")
