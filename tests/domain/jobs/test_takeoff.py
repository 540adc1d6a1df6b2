"""Take-off: which uses a job makes, and how hardware is picked."""

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.jobs.job import FrameSpec, GlazingSpec, MountingSpec
from service.domain.jobs.mat import Grid
from service.domain.jobs.sizes import work_out
from service.domain.jobs.takeoff import hardware_for, load_mg, supply_uses
from service.domain.materials.catalogue import Catalogue
from service.domain.measure.length import Length
from service.domain.shop import Method, SupplyUse
from tests.domain.bench_shop import basis, inch, size
from tests.domain.sample_jobs import BARE, CANVAS, PLAIN, SHOP, art, done, job, mat, placed, under

KG = 1_000_000


def uses(start=PLAIN, **more):
    return {(use.component, use.pointer): use for use in done(start, **more).uses}


def test_every_board_is_billed_at_the_packages_size_and_an_under_mat_at_its_own():
    found = uses(mats=(mat(), under()))
    package = size("12 1/4 x 14 1/4")
    for key in (("mat", "/mats/0"), ("glazing", "/glazing"),
                ("mounting", "/mounting"), ("backing", "/backing")):  # fmt: skip
        assert found[key].size == package
    # common practice, no source: an under mat is 1/8 in smaller a side than the package.
    assert found["mat", "/mats/1"].size == size("12 x 14")
    assert found["mat", "/mats/1"].layer == 2


def test_a_mats_windows_are_counted():
    assert uses(openings=Grid(2, 3, inch("1")))["mat", "/mats/0"].openings == 6


def test_moulding_is_billed_by_its_footage_and_the_size_that_it_holds():
    frame = uses(BARE, frames=(FrameSpec("OAK", "chop"),))["frame", "/frames/0"]
    assert frame.footage == inch("46 1/2")  # 2·(8 1/8 + 10 1/8) + 8·1 1/4
    assert frame.size == size("8 x 10")
    assert frame.supply == "chop"


def test_a_windows_fillet_takes_its_edge_and_eight_fillet_widths_a_window():
    # common practice, no source: opening perimeter + 8 fillet widths.
    # The window with its fillet is 8 x 10.
    fillet = uses(mats=(mat(fillet="GILT"),))["fillet", "/mats/0/fillet"]
    assert fillet.footage == inch("36") + 8 * inch("1/8")
    grid = uses(mats=(mat(fillet="GILT"),), openings=Grid(1, 2, inch("1")))
    assert grid["fillet", "/mats/0/fillet"].footage == 2 * inch("37")


def test_a_rabbets_fillet_takes_the_rabbet_and_eight_fillet_widths():
    # common practice, no source: a fillet is billed and cut by the opening that it lines.
    frames = (FrameSpec("OAK", fillet="GILT"),)
    fillet = uses(BARE, frames=frames)["fillet", "/frames/0/fillet"]
    assert fillet.footage == 2 * (inch("8 1/8") + inch("10 1/8")) + inch("1")
    cut = [piece for piece in done(BARE, frames=frames).pieces if piece.part == "fillet"]
    assert [piece.length for piece in cut] == [inch("8 1/8"), inch("10 1/8")]


def test_a_spacer_runs_round_the_package():
    found = uses(BARE, glazing=GlazingSpec("CLEAR", inch("1/8")))
    assert found["finishing", "/glazing/spacer"].feet == 3
    assert found["finishing", "/glazing/spacer"].item.code == "SPACER"


def test_a_floater_uses_no_boards():
    assert list(uses(CANVAS)) == [("frame", "/frames/0")]


def supplied(supply: SupplyUse, start=BARE, *, mounting: bool = False, **more):
    """The use of one supply by a job whose only method asks for it."""
    way = Method("it", "it", "hanging_sets", (supply,))
    shop = basis(mounting=(way,), finishing=(way,))
    asked = {"mounting": MountingSpec("it")} if mounting else {"finishing": ("it",)}
    made = job(start, shop=shop, **({"mounting": None} | asked | more))
    (use,) = supply_uses(made, work_out(made, shop.shop), 0, shop.shop, shop.catalogue)
    return use


MEASURED = [
    # An 8 x 10 in oak of 1 1/4 with a rabbet of 1/4 is 10 1/8 x 12 1/8 outside.
    ("piece", "pieces", Fraction(2)),
    ("perimeter_foot", "feet", 2 * Fraction("44.5") / 12),
    ("width_foot", "feet", 2 * Fraction("10.125") / 12),
    ("square_foot", "area", 2 * Fraction("10.125") * Fraction("12.125") / 144),
]


@pytest.mark.parametrize(("measure", "name", "figure"), MEASURED)
def test_supplies_of_a_finishing_are_measured_on_the_outside(measure, name, figure):
    assert getattr(supplied(SupplyUse(measure, Fraction(2), "PAPER")), name) == figure


@pytest.mark.parametrize(
    ("covers", "edge"),
    [("", "44.5"), ("outside", "44.5"), ("package", "36"), ("rabbet", "36.5"), ("art", "36")],
)
def test_a_finishing_may_name_what_it_covers(covers, edge):
    # Outside 10 1/8 x 12 1/8, package and art 8 x 10, rabbet 1/8 more in each dimension.
    supply = SupplyUse("perimeter_foot", Fraction(1), "PAPER", covers=covers)
    assert supplied(supply).feet == Fraction(edge) / 12


TWELVE = Grid(3, 4, inch("1"))


@pytest.mark.parametrize(
    ("measure", "name", "figure"),
    [
        # common practice, no source: twelve pictures of 4 x 6, each mounted by itself.
        ("piece", "pieces", Fraction(24)),
        ("perimeter_foot", "feet", Fraction(12 * 2 * 20, 12)),
        ("width_foot", "feet", Fraction(12 * 2 * 4, 12)),
        ("square_foot", "area", Fraction(12 * 2 * 24, 144)),
    ],
)
def test_a_mounting_is_measured_on_each_of_twelve_pictures(measure, name, figure):
    supply = SupplyUse(measure, Fraction(2), "HINGE")
    use = supplied(supply, PLAIN, mounting=True, artwork=art("4 x 6"), openings=TWELVE)
    assert getattr(use, name) == figure
    assert use.openings == 12


def test_pictures_of_two_sizes_are_each_covered():
    # Press film over an 8 x 10 and a 5 x 7: 80 + 35 = 115 sq in.
    layout = placed(("8 x 10", "2", "2"), ("5 x 7", "11", "2"))
    film = SupplyUse("square_foot", Fraction(1), "PAPER")
    use = supplied(film, PLAIN, mounting=True, artwork=None, openings=layout)
    assert use.area == Fraction(115, 144)


def test_film_may_cover_the_whole_mount():
    # The package of the plain job is 11 3/4 x 13 3/4.
    film = SupplyUse("square_foot", Fraction(1), "PAPER", covers="package")
    assert supplied(film, PLAIN, mounting=True).area == Fraction("11.75") * Fraction("13.75") / 144


def test_a_canvas_in_a_floater_is_covered_by_its_own_size():
    staples = SupplyUse("perimeter_foot", Fraction(1), "PAPER")
    assert supplied(staples, CANVAS, mounting=True).feet == 6  # 2·(16 + 20) in


def test_a_wire_is_measured_by_its_own_length():
    # Outside 24 x 26 (22 x 24 and 2 in of face beyond): span 22, rise 4.4, and 4 in a side:
    # 2·√(11² + 4.4²) + 8 = 31.69, cut 32 in. Common practice, no source.
    frames = (FrameSpec("OAK"),)
    use = supplied(
        SupplyUse("wire_foot", Fraction(1), role="wire"),
        artwork=art("21 7/8 x 23 7/8"),
        frames=frames,
    )
    assert use.feet == Fraction(32, 12)
    assert use.component == "hardware"


WIRES = [
    ("1", "WIRE-S"),
    ("3.75", "WIRE-S"),
    ("3.750001", "WIRE-L"),
    ("11.25", "WIRE-L"),
    ("99", "WIRE-L"),
]


@pytest.mark.parametrize(("kg", "code"), WIRES)
def test_the_weakest_hardware_that_carries_four_times_the_weight_is_picked(kg, code):
    # published: galvanised picture wire breaks at 4 x the weight (a framing educator's archive).
    weight = int(Fraction(kg) * KG)
    assert load_mg(weight, SHOP.shop) == 4 * weight
    picked = hardware_for("wire", weight, SHOP.shop, SHOP.catalogue)
    assert picked is not None
    assert picked.code == code


def test_a_role_that_the_catalogue_lacks_has_no_hardware():
    assert hardware_for("hook", 1, SHOP.shop, SHOP.catalogue) is None


def test_hardware_no_longer_sold_is_not_picked():
    small = replace(SHOP.catalogue.items["WIRE-S"], discontinued=True)
    catalogue = Catalogue({**SHOP.catalogue.items, "WIRE-S": small}, {})
    picked = hardware_for("wire", 1, SHOP.shop, catalogue)
    assert picked is not None
    assert picked.code == "WIRE-L"


def test_hardware_is_a_component_of_its_own_whatever_method_asks_for_it():
    found = uses(finishing=("dust_cover", "wire"), mounting=MountingSpec("hinged"))
    assert found["hardware", "/finishing/1"].item.code == "WIRE-S"
    assert found["finishing", "/finishing/0"].item.code == "PAPER"
    assert found["mounting", "/mounting/method"].pieces == 2


def test_a_use_knows_nothing_of_how_many_pieces_the_job_has():
    assert done(quantity=7).uses == done().uses
    assert Length(1) not in (use.footage for use in done(artwork=art()).uses)
