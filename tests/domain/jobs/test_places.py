"""Where floated art lies on its mount, and the centres of ovals and arches: worked by hand."""

from dataclasses import replace

import pytest

from service.domain.jobs.job import FrameSpec, JobSpec
from service.domain.jobs.mat import Grid, Placed, PlacedWindow, Window
from service.domain.jobs.places import curve, float_places, margin_showing
from service.domain.jobs.sizes import work_out
from service.domain.measure.length import ZERO, Length, Sides, Size
from service.domain.shop import Sizing
from tests.domain.bench_shop import basis, inch, size
from tests.domain.sample_jobs import PLAIN, SHOP, art, job, mat, under

FLOAT = JobSpec(
    artwork=art("8 x 10"), presentation="float", float_margin=inch("1"), frames=(FrameSpec("OAK"),)
)


def places(start=FLOAT, **more):
    made = job(start, **more)
    return list(float_places(made, work_out(made, SHOP.shop)))


def sides(top: str, right: str, bottom: str, left: str) -> Sides:
    return Sides(inch(top), inch(right), inch(bottom), inch(left))


def test_art_floated_without_a_mat_lies_its_margin_in():
    # common practice, no source: 8 x 10 with 1 in round it, on a board of 10 x 12.
    (place,) = places()
    assert (place.pointer, place.size) == ("/artwork", size("8 x 10"))
    assert place.margins == Sides.all(inch("1"))
    assert (place.centre_x, place.centre_y) == (inch("5"), inch("6"))


def test_art_floated_under_a_weighted_mat_lies_in_its_window():
    # Borders 3/3/4/3, margin 1: the art begins 4 from the left and the top; the board is 16 x 19.
    top = replace(mat(), border=sides("3", "3", "4", "3"))
    (place,) = places(mats=(top,))
    assert place.margins == sides("4", "4", "5", "4")
    assert (place.centre_x, place.centre_y) == (inch("8"), inch("9"))


def test_a_fillet_and_an_under_mat_move_the_window_and_not_the_art():
    # Top window 2 from the edge, under mat a reveal of 1/4 in, its fillet 1/8 within, margin 1.
    (place,) = places(mats=(mat("2"), under("1/4", fillet="GILT")))
    assert (place.x, place.y) == (inch("3 3/8"), inch("3 3/8"))


def test_every_floated_picture_of_several_has_its_place():
    windows = (
        PlacedWindow(art("4 x 6"), inch("2"), inch("2")),
        PlacedWindow(art("5 x 7"), inch("9"), inch("3")),
    )
    found = places(artwork=None, openings=Placed(windows), mats=(mat("2"),))
    assert [place.pointer for place in found] == ["/openings/0/artwork", "/openings/1/artwork"]
    assert [(p.x, p.y, p.size) for p in found] == [
        (inch("3"), inch("3"), size("4 x 6")),
        (inch("10"), inch("4"), size("5 x 7")),
    ]
    grid = places(openings=Grid(1, 2, inch("1")), mats=(mat("2"),))
    assert [place.x for place in grid] == [inch("3"), inch("3") + inch("11")]


@pytest.mark.parametrize("presentation", ["overlap", "full_bleed"])
def test_art_that_is_not_floated_has_no_place_of_its_own(presentation):
    mats = () if presentation == "full_bleed" else PLAIN.mats
    assert places(PLAIN, presentation=presentation, overlap=None, mats=mats) == []


def test_a_canvas_in_a_floater_has_no_board_to_lie_on():
    canvas = {"presentation": "floater", "float_margin": None, "frames": (FrameSpec("FLOAT"),)}
    assert places(FLOAT, **canvas) == []


def window(shape, text: str, x: str = "3", y: str = "2") -> Window:
    return Window(shape, inch(x), inch(y), size(text))


def test_an_ovals_centre_is_half_an_axis_from_its_edges():
    found = curve(window("ellipse", "9 x 12"))
    assert (found.centre_x, found.centre_y) == (inch("7 1/2"), inch("8"))
    assert (found.radius_x, found.radius_y) == (inch("4 1/2"), inch("6"))


def test_an_archs_spring_line_is_half_its_width_below_its_top():
    # An arch of 9 x 12: a half circle of radius 4 1/2 over a rectangle 7 1/2 high.
    found = curve(window("arch", "9 x 12"))
    assert (found.centre_x, found.centre_y) == (inch("7 1/2"), inch("6 1/2"))
    assert (found.radius_x, found.radius_y) == (inch("4 1/2"), inch("4 1/2"))


def test_a_rectangle_has_no_curve():
    assert curve(window("rectangle", "9 x 12")) is None


def test_half_of_an_odd_tick_is_taken_down():
    odd = Window("ellipse", ZERO, ZERO, Size(Length(5), Length(7)))
    found = curve(odd)
    assert (found.centre_x.ticks, found.centre_y.ticks) == (2, 3)


@pytest.mark.parametrize(
    ("more", "shows"),
    [
        # OAK's lip is 1/4, the allowance 1/8: it covers 3/16 of the margin; GILT 1/8 more.
        ({}, "13/16"),
        ({"frames": (FrameSpec("OAK", fillet="GILT"),)}, "11/16"),
        ({"frames": ()}, "1"),
        ({"mats": (mat("2"),)}, "1"),
        ({"float_margin": inch("1/8")}, "-1/16"),
    ],
)
def test_the_lip_takes_its_part_of_a_margin_without_a_mat(more, shows):
    made = job(FLOAT, **more)
    expected = -inch(shows[1:]) if shows.startswith("-") else inch(shows)
    assert margin_showing(made, work_out(made, SHOP.shop)) == expected


def test_a_lip_that_does_not_reach_the_package_takes_nothing():
    loose = basis(sizing=Sizing(allowance=inch("3/4")))
    made = job(FLOAT, shop=loose)
    sizes = work_out(made, loose.shop)
    assert margin_showing(made, sizes) == inch("1")
    assert sizes.shows == (size("10 x 12"),)


def test_only_floated_art_has_a_margin_to_show():
    made = job(PLAIN)
    assert margin_showing(made, work_out(made, SHOP.shop)) is None
