"""What a job asks of the bench, each driver counted by hand."""

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.estimates.calculation import all_drivers, all_uses
from service.domain.jobs.guide import guide_settings, uses_stops
from service.domain.jobs.job import FrameSpec, GlazingSpec, MountingSpec
from service.domain.jobs.mat import Grid
from service.domain.jobs.sizes import work_out
from service.domain.labour.drivers import FRAME_DRIVERS
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.length import Sides
from service.domain.shop import DRIVERS, Bench, MaterialWay, Method
from tests.domain.bench_shop import basis, inch
from tests.domain.sample_jobs import BARE, CANVAS, PLAIN, SHOP, art, job, mat, under


def drivers(start=PLAIN, *, shop=SHOP, **more) -> dict[str, Fraction]:
    """The units of one piece, by driver."""
    made = job(start, shop=shop, **more)
    sizes = work_out(made, shop.shop)
    units = all_drivers(made, sizes, shop.shop, all_uses(made, sizes, 0, shop))
    return {name: Fraction(hundredths, 100) for name, hundredths in units.items()}


def settings(start=PLAIN, layer: int = 0, **more) -> list[str]:
    sizes = work_out(job(start, **more), SHOP.shop)
    found = guide_settings(sizes.layers[layer], sizes.package)
    return [SHOP.shop.ruler.mark(length) for length in found]


def test_the_drivers_of_a_plain_job():
    # Package 11 3/4 x 13 3/4 = 25 1/2 united inches; footage 62.5 in = 5.21 ft, billed 6.
    assert drivers() == {
        "job": 1,
        "board_pieces": 3,
        "board_united_inches": Fraction("76.5"),
        "mat_layers": 1,
        "openings": 1,
        "bevel_cuts": 4,
        "guide_settings": 1,
        "pencil_lines": 1,
        "glass_pieces": 1,
        "glass_scores": 2,
        "glazing_united_inches": Fraction("25.5"),
        "hinged_mounts": 1,
        "mount_square_feet": Fraction("1.12"),
        "rails": 4,
        "corners": 4,
        "moulding_feet": 6,
        "fittings": 1,
        "fitting_united_inches": Fraction("25.5"),
        "wraps": 1,
    }


def test_every_driver_that_a_job_can_have_is_one_that_a_standard_can_time():
    found = drivers(
        mats=(mat(fillet="GILT"), under(board="THICK")),
        openings=Grid(1, 2, inch("1"), "ellipse"),
        glazing=GlazingSpec("PLASTIC", inch("1/8")),
        frames=(FrameSpec("OAK", fillet="GILT"), FrameSpec("LIP", "join")),
        finishing=("dust_cover", "wire"),
    )
    assert set(found) <= set(DRIVERS)
    assert set(drivers()) <= set(DRIVERS)
    assert set(FRAME_DRIVERS) <= set(DRIVERS)


def test_acrylic_takes_three_passes_a_break():
    # common practice, no source: three scoring passes.
    found = drivers(glazing=GlazingSpec("PLASTIC"))
    assert (found["acrylic_pieces"], found["acrylic_scores"]) == (1, 6)
    assert "glass_scores" not in found


LITES = [
    # published: glass is scribed once a break, laminated on both faces of one line with the film
    # parted (trade and course pages); polycarbonate is sawn, it does not snap. common practice, no
    # source: acrylic to 1/8 in takes three passes, and thicker is sawn.
    ("CLEAR", "glass_pieces", "glass_scores", 2),
    ("MIRROR", "glass_pieces", "glass_scores", 2),
    ("LAMINATE", "glass_pieces", "laminated_cuts", 2),
    ("PLASTIC", "acrylic_pieces", "acrylic_scores", 6),
    ("THICK-PLASTIC", "acrylic_pieces", "plastic_saw_cuts", 2),
    ("TOUGH", "acrylic_pieces", "plastic_saw_cuts", 2),
]


@pytest.mark.parametrize(("sheet", "pieces", "driver", "units"), LITES)
def test_a_lite_is_cut_as_its_material_is_worked(sheet, pieces, driver, units):
    found = drivers(glazing=GlazingSpec(sheet))
    ways = {"glass_scores", "laminated_cuts", "acrylic_scores", "plastic_saw_cuts"}
    assert {name: found[name] for name in ways & set(found)} == {driver: units}
    assert found[pieces] == 1


def test_a_shop_sets_how_thick_acrylic_snaps_and_what_is_sawn():
    thick = basis(bench=Bench(thickest_snap=inch("3/16")))
    assert drivers(shop=thick, glazing=GlazingSpec("THICK-PLASTIC"))["acrylic_scores"] == 6
    assert "acrylic_scores" not in drivers(shop=thick, glazing=GlazingSpec("TOUGH"))
    sawn = replace(SHOP.catalogue.items["PLASTIC"], cut_by="saw")
    catalogue = Catalogue({**SHOP.catalogue.items, "PLASTIC": sawn}, SHOP.catalogue.costs)
    found = drivers(shop=replace(SHOP, catalogue=catalogue), glazing=GlazingSpec("PLASTIC"))
    assert found["plastic_saw_cuts"] == 2


@pytest.mark.parametrize(
    ("sheet", "driver", "units"),
    [
        ("CLEAR", "glass_scores", 6),
        ("PLASTIC", "acrylic_scores", 18),
        ("TOUGH", "plastic_saw_cuts", 6),
    ],
)
def test_the_corners_of_an_octagons_glass_are_cut_too(sheet, driver, units):
    # A square becomes an octagon by four more cuts: 2 + 4, times three passes for acrylic.
    frames = (FrameSpec("OAK", sides=8),)
    found = drivers(BARE, artwork=art("10 x 10"), glazing=GlazingSpec(sheet), frames=frames)
    assert found[driver] == units


def test_the_corners_of_an_octagons_boards_are_cut_too():
    eight = {"artwork": art("10 x 10"), "frames": (FrameSpec("OAK", sides=8),)}
    assert drivers(**eight)["board_corner_cuts"] == 12  # mat, mount and backing, four each
    twelve = {**eight, "frames": (FrameSpec("OAK", sides=12),)}
    assert drivers(**twelve)["board_corner_cuts"] == 24
    assert "board_corner_cuts" not in drivers()


def test_a_second_mat_is_counted_as_an_under_mat_with_windows_and_settings_of_its_own():
    found = drivers(mats=(mat(), under()))
    assert (found["mat_layers"], found["under_mats"], found["openings"]) == (2, 1, 2)
    assert (found["bevel_cuts"], found["guide_settings"], found["pencil_lines"]) == (8, 2, 2)


@pytest.mark.parametrize(
    ("border", "expected"),
    [
        (("3", "3", "3", "3"), ["3"]),
        (("3", "3", "3 1/2", "3"), ["3", "3 1/2"]),
        (("3", "2", "3 1/2", "2 1/2"), ["2", "2 1/2", "3", "3 1/2"]),
    ],
)
def test_equal_borders_keep_one_setting_of_the_guide(border, expected):
    top = replace(mat(), border=Sides(*(inch(side) for side in border)))
    assert settings(mats=(top,)) == expected


def test_an_under_mat_is_set_at_border_and_reveal():
    assert settings(layer=1, mats=(mat("2 3/4"), under("1/4"))) == ["3"]


def test_windows_are_each_set_from_their_own_side_of_the_mat():
    # Two windows of 4 3/4 a 1 in bar apart, borders of 2: 2 and 2 + 4 3/4 + 1 from either side.
    assert settings(artwork=art("5 x 7"), openings=Grid(1, 2, inch("1"))) == ["2", "7 3/4"]


def test_without_stops_every_window_takes_four_pencil_lines():
    shop = basis(bench=Bench(stops=False))
    assert drivers(shop=shop, openings=Grid(2, 2, inch("1")))["pencil_lines"] == 16
    assert drivers(openings=Grid(2, 2, inch("1")))["pencil_lines"] == 1


def test_stops_may_be_set_only_from_a_number_of_pieces_on():
    bench = Bench(stops_from_quantity=5)
    assert not uses_stops(bench, 4)
    assert uses_stops(bench, 5)
    assert not uses_stops(Bench(stops=False), 100)


def test_shaped_windows_have_no_straight_cuts():
    found = drivers(openings=Grid(1, 2, inch("1"), "ellipse"))
    assert (found["openings"], found["shaped_openings"]) == (2, 2)
    assert not {"bevel_cuts", "guide_settings", "pencil_lines"} & set(found)


def test_board_thicker_than_the_standard_head_takes_the_other_one():
    assert drivers(mats=(mat(board="THICK"),))["thick_mat_cuts"] == 4
    assert "thick_mat_cuts" not in drivers()


@pytest.mark.parametrize(
    ("supply", "rails", "corners", "ready"),
    [("length", 4, 4, 0), ("chop", 0, 4, 0), ("join", 0, 0, 1)],
)
def test_what_the_supplier_has_done_the_bench_need_not(supply, rails, corners, ready):
    found = drivers(BARE, frames=(FrameSpec("OAK", supply),))
    assert found.get("rails", 0) == rails
    assert found.get("corners", 0) == corners
    assert found.get("ready_frames", 0) == ready
    assert ("moulding_feet" in found) == (supply != "join")
    assert found["fittings"] == 1


def test_a_frame_of_eight_sides_has_eight_corners():
    found = drivers(BARE, artwork=art("10 x 10"), frames=(FrameSpec("OAK", sides=8),))
    assert (found["rails"], found["corners"]) == (8, 8)


def test_fillets_are_counted_by_corner_and_billed_foot():
    found = drivers(
        mats=(mat(fillet="GILT"),), openings=Grid(1, 2, inch("1")),
        frames=(FrameSpec("OAK", fillet="GILT"),),
    )  # fmt: skip
    assert found["fillet_corners"] == 4 * 2 + 4
    # 74 in of window and 70 in of rabbet, each up to a foot: 7 + 6.
    assert found["fillet_feet"] == 13


def test_each_way_of_mounting_and_finishing_counts_for_its_driver():
    found = drivers(mounting=MountingSpec("dry_mounted"), finishing=("dust_cover", "wire"))
    assert found["pressed_mounts"] == 1
    assert found["hanging_sets"] == 1
    assert found["dust_cover_square_feet"] == Fraction("1.53")  # 13 7/8 x 15 7/8 in = 1.5296 sq ft
    assert "hinged_mounts" not in found


def test_every_picture_is_mounted_by_itself():
    # common practice, no source: twelve openings, twelve pictures hinged.
    twelve = {"artwork": art("4 x 6"), "openings": Grid(3, 4, inch("1"))}
    assert drivers(**twelve)["hinged_mounts"] == 12
    pressed = drivers(**twelve, mounting=MountingSpec("dry_mounted"))
    assert pressed["pressed_mounts"] == 12


def test_a_mounting_timed_by_area_covers_every_picture():
    way = Method("filmed", "filmed", "mount_square_feet")
    shop = basis(mounting=(way,))
    found = drivers(
        shop=shop, artwork=art("6 x 6"), openings=Grid(2, 2, inch("1")),
        mounting=MountingSpec("filmed"),
    )  # fmt: skip
    assert found["mount_square_feet"] == 1  # 4 x 36 sq in


def test_grooves_and_ruled_lines_run_round_every_window_of_their_mat():
    # Two grooves and a line round each of six windows of the top mat, a line round the under mat's.
    half, inch_out = inch("1/2"), inch("1")
    top = mat("2 1/2", grooves=(half, inch_out), ruled_lines=(half,))
    found = drivers(openings=Grid(2, 3, inch("3")), mats=(top, under(ruled_lines=(inch("1/8"),))))
    assert (found["v_grooves"], found["ruled_lines"]) == (12, 12)


def test_a_spacer_is_stuck_in_by_the_foot():
    found = drivers(BARE, glazing=GlazingSpec("CLEAR", inch("1/8")))
    assert found["spacer_feet"] == 3


def test_a_canvas_in_a_floater_is_rails_corners_and_fitting():
    assert set(drivers(CANVAS)) == {
        "job", "rails", "corners", "moulding_feet", "fittings", "fitting_united_inches",
        "wraps",
    }  # fmt: skip


ORDERED = [
    # common practice, no source: coated laminate is ordered to size, so that its two cuts count no
    # scribe; the other two shops have no saw for what is named.
    ((), {"glazing": GlazingSpec("COATED-LAMINATE")}, {"glass_pieces": 1, "ordered_sheets": 1}),
    ((MaterialWay("polycarbonate", "order"),), {"glazing": GlazingSpec("TOUGH")},
     {"acrylic_pieces": 1, "ordered_sheets": 1}),
    ((MaterialWay("foam_board", "order"),), {},
     {"board_pieces": 2, "ordered_sheets": 1, "board_united_inches": Fraction("76.5")}),
    ((MaterialWay("wood", "order"),), {}, {"rails": None, "corners": 4}),
    ((MaterialWay("fillet", "order"),), {"mats": (mat(fillet="GILT"),)},
     {"fillet_corners": None, "fillet_feet": 4}),
]  # fmt: skip


@pytest.mark.parametrize(("ways", "more", "counted"), ORDERED)
def test_what_is_ordered_cut_to_size_counts_no_cut(ways, more, counted):
    coated = replace(SHOP.catalogue.items["LAMINATE"], code="COATED-LAMINATE", finish="matte")
    items = {**SHOP.catalogue.items, coated.code: coated}
    shop = replace(basis(bench=Bench(ways=ways)), catalogue=Catalogue(items, {}))
    found = drivers(shop=shop, **more)
    assert {name: found.get(name) for name in counted} == counted
    cuts = {"glass_scores", "laminated_cuts", "acrylic_scores", "plastic_saw_cuts"}
    assert not cuts & set(found) or "glazing" not in more


def test_an_octagon_that_is_ordered_comes_with_its_corners_off():
    ways = (MaterialWay("acrylic", "order"), MaterialWay("foam_board", "order"))
    shop = basis(bench=Bench(ways=ways))
    eight = (FrameSpec("OAK", sides=8),)
    found = drivers(
        BARE, shop=shop, artwork=art("10 x 10"), glazing=GlazingSpec("PLASTIC"), backing="FOAM",
        frames=eight,
    )  # fmt: skip
    assert found["ordered_sheets"] == 2
    assert not {"board_corner_cuts", "acrylic_scores", "board_pieces"} & set(found)
