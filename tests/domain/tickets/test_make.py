"""What a ticket says: bevels, heads, stops, reach, cautions, minutes, refusals."""

from __future__ import annotations

from fractions import Fraction

import pytest

from service.domain.estimates.calculation import Basis
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import FrameSpec, GlazingSpec, MountingSpec
from service.domain.jobs.mat import MatSpec, Single
from service.domain.labour.standard import LabourStandard, Operation
from service.domain.measure.length import Length, Sides
from service.domain.shop import Bench, Safety
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket, RodPiece, TicketRefused
from tests.domain.bench_shop import basis, inch, size
from tests.domain.tickets.shop_jobs import (
    changes,
    lines,
    sides,
    six_windows,
    spec,
    steps,
    ticket,
    worked,
)


def where(made: CutTicket, work: str) -> list[int]:
    return [step.number for step in steps(made, work)]


def cautions(made: CutTicket) -> set[str]:
    return {code for step in made.steps for code in step.cautions}


def test_a_reverse_bevel_lies_face_up_and_left_stays_left() -> None:
    """The blade leans towards the guide: from the face the sight edge is where it goes in."""
    made = ticket(spec(mats=(MatSpec("WHITE", border=sides("3|2 1/2|3|2"), bevel="reverse"),)))
    (mat,) = made.mats()
    assert mat.lies == "face_up"
    found = {cut.side: (cut.front_side, cut.setting) for cut in mat.windows[0].cuts}
    assert found["left"] == ("left", inch("2"))
    assert found["right"] == ("right", inch("2 1/2"))
    said = lines(made, "window")
    assert said[0] == "Lay Top mat (1): face up."
    assert "inside the windows only" in said[1]


def test_a_reverse_under_mat_is_cut_by_itself_and_fixed_afterwards() -> None:
    """Face up it cannot lie under the top mat: settings run from its own edges, 1/8 smaller."""
    made = ticket(
        spec(
            mats=(
                MatSpec("WHITE", border=sides("3|2 1/2|3|2")),
                MatSpec("BLACK", reveal=Sides.all(inch("1/4")), bevel="reverse"),
            )
        )
    )
    under = made.mats()[1]
    assert under.edges == "own"
    found = {cut.side: cut.setting for cut in under.windows[0].cuts}
    assert found["left"] == inch("2 1/8")  # 2 + 1/4 - 1/8
    last_cut = max(step.number for step in steps(made, "window"))
    assert where(made, "fix_under_mat")[0] > last_cut


def test_a_straight_cut_takes_the_straight_blade() -> None:
    made = ticket(spec(mats=(MatSpec("WHITE", border=sides("3|3|3|3"), bevel="straight"),)))
    assert changes(made, "window", "slip_sheet") == ["in"]
    assert not changes(made, "window", "head")  # it stands since the sizing
    assert made.mats()[0].lies == "face_down"


def test_8_ply_takes_a_head_of_its_own() -> None:
    made = ticket(spec(mats=(MatSpec("THICK", border=sides("3|3|3|3")),)))
    assert changes(made, "window", "head") == ["thick-board bevel head"]
    assert changes(made, "window", "depth") == [inch("1/8")]
    assert "Fit a fresh blade, and cut slowly." in lines(made, "window")


def test_equal_borders_keep_one_setting() -> None:
    made = ticket(spec(mats=(MatSpec("WHITE", border=sides("3|3|3|3")),)))
    (step,) = steps(made, "window")
    assert changes(made, "window", "guide") == [inch("3")]
    assert len(step.cuts) == 4


def test_a_setting_shared_by_two_mats_is_set_once() -> None:
    """Top mat 3 and 3 1/4; under mat 3 1/4 and 3 1/2: the guide moves three times, not four."""
    made = ticket(
        spec(
            mats=(
                MatSpec("WHITE", border=sides("3|3|3 1/4|3")),
                MatSpec("BLACK", reveal=Sides.all(inch("1/4"))),
            )
        )
    )
    moved = changes(made, "window", "guide")
    assert moved == [inch("3"), inch("3 1/4"), inch("3 1/2")]


def test_boards_of_one_size_share_a_stop() -> None:
    made = ticket(spec(mats=(MatSpec("WHITE", border=sides("3|3|3|3")),)))
    standard, foam = steps(made, "size")
    shared = [{cut.piece for cut in part.size_cuts} for part in standard.parts if part.size_cuts]
    assert shared == [{1, 3}, {1, 3}]  # top mat and mount, once for the width, once for the height
    assert {cut.piece for cut in foam.size_cuts} == {4}


@pytest.mark.parametrize(
    ("stops", "quantity", "lines"), [(True, 1, 1), (False, 1, 24), (True, 9, 1)]
)
def test_one_line_with_stops_and_four_a_window_without(
    stops: bool, quantity: int, lines: int
) -> None:
    made = ticket(six_windows(quantity=quantity), basis(bench=Bench(stops=stops)))
    assert made.mats()[0].lines == lines
    named = {c.what for step in made.steps for part in step.parts for c in part.changes}
    assert ("start_stop" in named) is stops


def test_stops_wait_for_the_shops_quantity() -> None:
    shop = basis(bench=Bench(stops_from_quantity=3))
    assert ticket(spec(quantity=2), shop).mats()[0].lines == 4
    assert ticket(spec(quantity=3), shop).mats()[0].lines == 1


def test_glass_comes_after_the_last_board() -> None:
    made = ticket(spec())
    boards = [*where(made, "size"), *where(made, "window")]
    assert min(where(made, "glazing")) > max(boards)
    assert where(made, "fit")[0] > max(where(made, "glazing") + where(made, "join"))
    assert where(made, "take_in") == [1]


def test_acrylic_is_scored_in_passes_and_snapped() -> None:
    made = ticket(spec(glazing=GlazingSpec("PLASTIC")))
    said = lines(made, "glazing")
    assert "Score Glazing (3): width 21 1/8 in, at the arm stop, 3 passes." in said
    assert "Snap Glazing (3): at the line, over an edge." in said
    assert "glass" not in cautions(made)
    assert "snap" in cautions(made)


def test_pieces_beyond_the_bench_say_how() -> None:
    """Arm 10, rail 20, guide 2: nothing of this job is within reach, and each piece says so."""
    shop = basis(bench=Bench(squaring_arm=inch("10"), rail=inch("20"), widest_guide=inch("2")))
    made = ticket(spec(), shop)
    top = made.mats()[0]
    assert {cut.by for cut in top.size_cuts} == {"straightedge"}
    assert "longer than the cutter's rail (20 in)" in top.notes[0]
    ways = {cut.side: cut.by for cut in top.windows[0].cuts}
    # The 20 1/4 high sides are longer than the rail; the 16 5/8 wide ones beyond the guide.
    assert ways == {
        "left": "straightedge",
        "right": "straightedge",
        "top": "line",
        "bottom": "line",
    }


def test_a_size_beyond_the_stop_is_marked() -> None:
    made = ticket(spec(), basis(bench=Bench(squaring_arm=inch("24"))))
    assert [cut.by for cut in made.mats()[0].size_cuts] == ["stop", "mark"]
    assert "Mark Top mat (1), Mount (4): height 26 3/4 in, at both ends." in lines(made, "size")
    assert inch("26 3/4") not in changes(made, "size", "arm_stop")


def test_an_oval_prints_its_centre_and_both_axes() -> None:
    """Top mat's window: 16 5/8 x 20 1/4, face down at 2 1/2 (front's right border) and 3.

    Centre: 2 1/2 + 8 5/16 = 10 13/16 from the left, 3 + 10 1/8 = 13 1/8 from the top.
    """
    made = ticket(spec(openings=Single("ellipse")))
    assert not steps(made, "window")
    assert lines(made, "shaped_window")[1:3] == [
        "Mark Top mat (1), window 1: centre 10 13/16 in from the left, 13 1/8 in from the top.",
        "Cut Top mat (1), window 1: ellipse, axis across 16 5/8 in, axis down 20 1/4 in, oval "
        "cutter.",
    ]
    assert all(window.other_cutter for mat in made.mats() for window in mat.windows)


def test_an_arch_prints_its_spring_line_and_radius() -> None:
    """The head is half a circle: radius 16 5/8 / 2 = 8 5/16; the spring line 3 + 8 5/16 down.

    Legs at 2 1/2 and 2 1/2 + 16 5/8 = 19 1/8; the foot 3 + 20 1/4 = 23 1/4 down.
    """
    made = ticket(spec(openings=Single("arch")))
    mark, head, legs, foot = lines(made, "shaped_window")[1:5]
    assert "centre line 10 13/16 in from the left, spring line 11 5/16 in from the top" in mark
    assert "radius 8 5/16 in" in head
    assert "legs 2 1/2 in and 19 1/8 in from the left" in legs
    assert "to 23 1/4 in from the top" in legs
    assert "foot 23 1/4 in from the top" in foot


def test_fillets_have_lengths_and_go_in_after_the_cutting() -> None:
    """Top mat's window grows by the fillet, 1/8 a side: 16 1/8 + 1/4 = 16 3/8 wide."""
    made = ticket(spec(mats=(MatSpec("WHITE", border=sides("3|3|3|3"), fillet="GILT"),)))
    fillets = [p for p in made.pieces if isinstance(p, RodPiece) and p.part == "fillet"]
    assert [(f.quantity, f.length, f.inner) for f in fillets] == [
        (2, inch("16 3/8"), inch("16 1/8")),
        (2, inch("20"), inch("19 3/4")),
    ]
    assert where(made, "fillet")[0] > max(where(made, "window"))


def test_stacked_frames_and_an_octagon() -> None:
    made = ticket(spec(frames=(FrameSpec("OAK"), FrameSpec("LIP", "chop"))))
    assert made.frames[1].holds == made.frames[0].outside
    assert "Lay frame 1 in frame 2, face down." in lines(made, "fit")
    assert any("which come cut" in line for line in lines(made, "join"))

    round_one = ticket(
        spec(
            artwork=Artwork(size("12 x 12")),
            mats=(MatSpec("WHITE", border=sides("2|2|2|2")),),
            frames=(FrameSpec("OAK", "length", 8),),
        )
    )
    (rail,) = [p for p in round_one.pieces if isinstance(p, RodPiece)]
    assert (rail.quantity, rail.mitre) == (8, Fraction(45, 2))
    # Across flats the rabbet is 15 3/4 + 1/8; its side is that times tan 22.5 = 0.41421356...
    assert abs(rail.inner.in_inches() - Fraction("15.875") * Fraction("0.41421356237")) < Fraction(
        1, 10_000
    )
    assert "8 sides" in lines(round_one, "corners")[0]


def test_cautions_stand_only_where_they_apply() -> None:
    plain = ticket(spec(glazing=None, backing="", finishing=(), frames=(FrameSpec("OAK", "join"),)))
    assert cautions(plain) == {"blade", "points", "lead", "pests"}
    full = ticket(spec(mounting=MountingSpec("dry_mounted", "WHITE")))
    assert {
        "glass",
        "saw",
        "joiner",
        "heat",
        "ventilation",
        "hanging",
        "building_code",
    } <= cautions(full)
    assert "two_people" not in cautions(full)
    for step in full.steps:
        assert ("saw" in step.cautions) is (step.work == "rails")
        assert ("dust" in step.cautions) is (step.work == "rails")
        assert ("glass" in step.cautions) is (step.work == "glazing")


def test_large_and_heavy_pieces_are_said() -> None:
    shop = basis(
        safety=Safety(
            two_person_united_inches=Fraction(40), heavy_kg=Fraction(1), installer_kg=Fraction(2)
        )
    )
    made = ticket(spec(), shop)
    assert {"two_people", "installer", "lift"} <= cautions(made)
    assert "heavy" not in cautions(made)


def test_hardware_shows_the_weight_and_the_factor() -> None:
    made, shop = worked(spec())
    done = make_ticket(made, shop.shop)
    (wire,) = done.hardware
    assert done.safety_factor == 4
    assert wire.load_kg == Fraction(made.weight_mg * 4, 1_000_000)
    assert wire.carries
    assert wire.rating_kg >= wire.load_kg


def test_supplies_are_for_all_pieces() -> None:
    one, three = ticket(spec()), ticket(spec(quantity=3))
    assert [line.quantity * 3 for line in one.supplies] == [s.quantity for s in three.supplies]


def test_a_stop_advisory_refuses_the_ticket_with_its_reason() -> None:
    made, shop = worked(spec(overlap=Length(0)))
    with pytest.raises(TicketRefused) as refused:
        make_ticket(made, shop.shop)
    assert refused.value.code == "ticket_refused"
    assert "as large as the art" in refused.value.message
    assert [fault.pointer for fault in refused.value.faults()] == ["/overlap"]


def test_minutes_are_the_quotes_to_the_last_part() -> None:
    """Odd thirds and sevenths, several operations on one driver, one that no step stands for."""
    shop = basis()
    odd = LabourStandard(
        "odd",
        Fraction(30),
        (
            Operation("a", "windows", "bevel_cuts", Fraction(1, 3), Fraction(1, 7)),
            Operation("b", "windows again", "bevel_cuts", Fraction(2, 7)),
            Operation("c", "boards", "board_united_inches", Fraction(1, 13), Fraction(5)),
            Operation("d", "taking in", "job", Fraction(7, 3), Fraction(0)),
            Operation("e", "fitting", "fitting_united_inches", Fraction(1, 11), Fraction(1)),
        ),
    )
    made, _ = worked(spec(quantity=3), Basis(shop.shop, shop.catalogue, odd, shop.price_list))
    done = make_ticket(made, shop.shop)
    assert done.minutes == made.minutes
    for time in made.times:
        shares = [
            s.minutes
            for step in done.steps
            for s in step.shares
            if s.operation == time.operation.code
        ]
        assert sum(shares) == time.minutes


def test_work_that_no_step_stands_for_gets_a_step() -> None:
    shop = basis()
    method = shop.shop.mounting[0]
    grooved = basis(
        mounting=(type(method)("hinged", "hinging", "v_grooves", ()),),
    )
    made, _ = worked(spec(), grooved)
    done = make_ticket(made, grooved.shop)
    assert done.minutes == made.minutes
    assert any(s.operation == "op_v_grooves" for step in done.steps for s in step.shares)


def test_a_floater_needs_no_package() -> None:
    made = ticket(
        spec(
            artwork=Artwork(size("16 x 20"), inch("3/4"), "canvas"),
            presentation="floater",
            overlap=None,
            mats=(),
            glazing=None,
            mounting=None,
            backing="",
            frames=(FrameSpec("FLOAT"),),
            finishing=("wire",),
        )
    )
    assert made.package is None
    assert lines(made, "fit") == [
        "Lay the art face up in the frame: gap 1/4 in on every side, kept by shims.",
        "Turn the frame face down, with the art in it.",
        "Fix the art in the frame: screws from behind.",
        "Take the shims out of the frame.",
    ]
    assert made.set_ups.changes == 0


def test_grooves_are_cut_in_the_face_before_the_window() -> None:
    """Window of the top mat at 2 from the left, 3 from the top; 2 1/2 and 3 1/2 on the other sides.

    A groove 1/2 round it: 2 1/2 top, 2 right, 3 bottom, 1 1/2 left. A line 1/4 round it: 1/4 more.
    """
    mats = (
        MatSpec(
            "WHITE",
            border=sides("3|2 1/2|3 1/2|2"),
            grooves=(inch("1/2"),),
            ruled_lines=(inch("1/4"),),
        ),
    )
    made = ticket(spec(mats=mats))
    assert lines(made, "face") == [
        "Lay Top mat (1): face up.",
        "Groove Top mat (1), window 1: top 2 1/2 in, right 2 in, bottom 3 in, left 1 1/2 in, "
        "V-groove cutter.",
        "Rule Top mat (1), window 1: top 2 3/4 in, right 2 1/4 in, bottom 3 1/4 in, left 1 3/4 in, "
        "ruling pen.",
    ]
    assert where(made, "size")[-1] < where(made, "face")[0] < where(made, "window")[0]


def test_an_end_stop_is_set_again_for_a_side_of_another_length() -> None:
    """Borders of 3 all round a mat of 22 1/8 x 25 3/4: the end stop is always 3 from the far edge.

    Across 22 1/8 it stands at 19 1/8 of the rail, along 25 3/4 at 22 3/4.
    """
    made = ticket(spec(mats=(MatSpec("WHITE", border=sides("3|3|3|3")),)))
    assert changes(made, "window", "start_stop") == [inch("3")]
    assert changes(made, "window", "end_stop") == [inch("3"), inch("3")]
    (step,) = steps(made, "window")
    assert [{cut.side for cut in part.cuts} for part in step.parts if part.cuts] == [
        {"top", "bottom"},
        {"left", "right"},
    ]
