"""Weight: against the catalogue's densities and shapely's areas."""

from fractions import Fraction

import pytest
import shapely
from hypothesis import given

from service.domain.errors import JobRefused
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, GlazingSpec, MountingSpec
from service.domain.jobs.mat import Grid
from service.domain.jobs.sizes import work_out
from service.domain.jobs.weight import (
    frame_parts_mg,
    frames_mg,
    in_kg,
    package_mg,
    parts_mg,
    weight_mg,
)
from service.domain.materials.catalogue import DENSITY
from service.domain.measure.area import square_metres
from service.domain.measure.length import ZERO
from tests.domain.bench_shop import inch, size
from tests.domain.random_jobs import job_specs
from tests.domain.sample_jobs import BARE, CANVAS, PLAIN, SHOP, art, job, mat, under

SQUARE_INCH = 0.00064516


def parts(start=PLAIN, **more) -> dict[str, float]:
    made = job(start, **more)
    sizes = work_out(made, SHOP.shop)
    return {
        where: float(in_kg(mg)) for where, mg in (*parts_mg(made, sizes), *frame_parts_mg(sizes))
    }


def test_densities_are_the_published_ones():
    # published: EN 572-1 soda-lime glass 2500 kg/m³; ISO 7823-1 cast acrylic 1190 and a maker's
    # polycarbonate 1200, from data sheets.
    assert DENSITY == {"glass": 2500, "acrylic": 1190, "polycarbonate": 1200}


@pytest.mark.parametrize(("sheet", "kg"), [("CLEAR", 2.79), ("PLASTIC", 1.99)])
def test_a_24_by_36_lite_weighs_what_section_12_d2_derives(sheet, kg):
    lite = parts(BARE, artwork=art("24 x 36"), glazing=GlazingSpec(sheet))["/glazing"]
    assert lite == pytest.approx(kg, abs=0.005)


@pytest.mark.parametrize("shape", ["rectangle", "ellipse", "arch"])
def test_a_mat_weighs_its_sheet_less_its_windows(shape):
    # WHITE weighs 1 kg/m²; the window is 7 3/4 x 9 3/4 in a package of 11 3/4 x 13 3/4.
    found = parts(openings=Grid(1, 1, inch("0"), shape))["/mats/0"]
    circle = shapely.Point(0, 0).buffer(1, quad_segs=4096)
    windows = {
        "rectangle": 7.75 * 9.75,
        "ellipse": shapely.affinity.scale(circle, 7.75 / 2, 9.75 / 2).area,
        "arch": 7.75 * (9.75 - 7.75 / 2)
        + shapely.affinity.scale(circle, 7.75 / 2, 7.75 / 2).area / 2,
    }
    assert found == pytest.approx((11.75 * 13.75 - windows[shape]) * SQUARE_INCH, abs=2e-6)


def test_an_under_mat_weighs_by_its_own_smaller_blank():
    found = parts(mats=(mat(), under(board="WHITE")))
    blank, window = 12.25 - 0.25, 7.75
    expected = (blank * (14.25 - 0.25) - window * 9.75) * SQUARE_INCH
    assert found["/mats/1"] == pytest.approx(expected, abs=2e-6)


def test_boards_weigh_by_the_square_metre_and_rails_by_the_metre():
    found = parts(mounting=MountingSpec("", "WHITE"))
    package = float(square_metres(size("11 3/4 x 13 3/4")))
    assert found["/mounting"] == pytest.approx(package, abs=1e-6)
    assert found["/backing"] == pytest.approx(0.6 * package, abs=1e-6)
    rails = 2 * (11.875 + 2 + 13.875 + 2) * 0.0254
    assert found["/frames/0"] == pytest.approx(0.4 * rails, abs=1e-6)


def test_fillets_weigh_by_the_metre_too():
    found = parts(mats=(mat(fillet="GILT"),), frames=(FrameSpec("OAK", fillet="GILT"),))
    assert found["/mats/0/fillet"] == pytest.approx(0.05 * 36 * 0.0254, abs=1e-6)
    rabbet = 2 * (12 + 14 + 0.25) * 0.0254
    assert found["/frames/0/fillet"] == pytest.approx(0.05 * rabbet, abs=1e-6)


def test_a_canvas_in_a_floater_weighs_its_frame_alone():
    assert list(parts(CANVAS)) == ["/frames/0"]


@given(job_specs())
def test_the_whole_is_its_parts_and_no_part_weighs_less_than_nothing(any_spec):
    try:
        made = assemble(any_spec, SHOP.shop, SHOP.catalogue)
        sizes = work_out(made, SHOP.shop)
    except JobRefused:
        return
    weights = [mg for _, mg in (*parts_mg(made, sizes), *frame_parts_mg(sizes))]
    assert weight_mg(made, sizes) == sum(weights) == package_mg(made, sizes) + frames_mg(sizes)
    # A window that runs off its board, which stops the ticket, takes away more than there is.
    windows = [(w, layer.blank) for layer in sizes.layers for w in layer.on_blank()]
    inside = all(
        w.x >= ZERO and w.y >= ZERO and w.right() <= blank.width and w.bottom() <= blank.height
        for w, blank in windows
    )
    assert not inside or min(weights, default=0) >= 0
    assert in_kg(weight_mg(made, sizes)) == Fraction(sum(weights), 10**6)
