"""Two whole jobs, every figure of them worked by hand.

Both jobs are invented. Each step follows the formulas that the comments and `because` state: common
practice, no source.
"""

from fractions import Fraction

import pytest

from service.domain.estimates.calculation import estimate_job
from service.domain.estimates.workings.sizes import size_workings
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.assembly import assemble
from service.domain.jobs.job import FrameSpec, JobSpec
from service.domain.jobs.mat import MatSpec
from service.domain.jobs.use import billed_united_inches
from service.domain.measure.length import Length, Sides, Size
from service.domain.measure.parse import read_length, read_size
from tests.domain.bench_shop import basis
from tests.golden.case import DERIVED, Case, misses, run
from tests.golden.figures import FIGURES


def inch(text: str) -> Length:
    return read_length(text, "in")


def size(text: str) -> Size:
    return read_size(text, "in")


WORKED = JobSpec(
    artwork=Artwork(size("16 3/8 x 20")),
    presentation="overlap",
    overlap=inch("1/8"),
    mats=(
        MatSpec("WHITE", border=Sides(inch("3"), inch("3"), inch("3 1/2"), inch("3"))),
        MatSpec("BLACK", reveal=Sides.all(inch("1/4"))),
    ),
    frames=(FrameSpec("OAK"),),
)
"""The worked example in the invented shop, whose OAK has a face of 1 1/4 and a rabbet of 1/4."""


@pytest.fixture(scope="module")
def done():
    shop = basis()
    return estimate_job(assemble(WORKED, shop.shop, shop.catalogue), shop)


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("opening", "16 1/8 x 19 3/4"),
        ("package", "22 5/8 x 26 3/4"),
        ("outside", "24 3/4 x 28 7/8"),
    ],
)
def test_the_sizes_of_the_worked_example(done, what, text):
    assert getattr(done.sizes, what) == size(text)


@pytest.mark.parametrize(
    ("what", "text"), [("rabbet", "22 3/4 x 26 7/8"), ("sight", "22 1/4 x 26 3/8")]
)
def test_the_frame_of_the_worked_example(done, what, text):
    assert getattr(done.sizes.frames[0], what) == size(text)


def test_the_top_opening_lies_at_its_borders(done):
    (window,) = done.sizes.layers[0].windows
    assert window.size == size("16 5/8 x 20 1/4")
    assert (window.x, window.y) == (inch("3"), inch("3"))
    assert done.sizes.package.height - window.bottom() == inch("3 1/2")


def test_the_under_mat_is_an_eighth_smaller_a_side_and_set_at_border_plus_reveal(done):
    under = done.sizes.layers[1]
    assert under.blank == size("22 3/8 x 26 1/2")
    assert under.windows[0].x == inch("3 1/4")
    assert under.on_blank()[0].x == inch("3 1/8")


def test_the_quantities_of_the_worked_example(done):
    assert FIGURES["united inches"](done) == Fraction("49.375")
    assert FIGURES["square inches"](done) == Fraction("605.21875")
    assert round(FIGURES["square feet"](done), 4) == Fraction("4.2029")
    assert FIGURES["rails"](done) == inch("107 1/4")
    assert round(FIGURES["feet"](done), 3) == Fraction("9.104")
    assert FIGURES["feet"](done) == (2 * (22 + Fraction(3, 4) + 26 + Fraction(7, 8)) + 10) / 12
    assert done.lines[0].quantity == 10
    assert billed_united_inches(done.sizes.package, basis().shop.billing) == 50


def test_the_rails_of_the_worked_example_and_their_mitres(done):
    rails = [piece for piece in done.pieces if piece.part == "rail"]
    assert [(r.side, r.quantity, r.length, r.mitre) for r in rails] == [
        ("top", 2, inch("24 3/4"), 45),
        ("left", 2, inch("28 7/8"), 45),
    ]


def test_what_shows_of_the_borders(done):
    # border - (rabbet width - allowance/2) = border - 3/16
    showing = {
        w.figure.rsplit("/", 1)[1]: w.result
        for w in size_workings(done, basis().shop)
        if w.figure.startswith("sizes/border_showing")
    }
    assert showing == {
        "top": inch("2 13/16"), "right": inch("2 13/16"),
        "bottom": inch("3 5/16"), "left": inch("2 13/16"),
    }  # fmt: skip


WHOLE = Case(
    name="whole job",
    source="invented; each step worked by hand",
    mark=DERIVED,
    because="its 8W footage of 107 in counts from the package, ours from the rabbet: + 4·A = 0.5; "
    "poplar 470 kg/m³ over 0.9 in² of profile is the moulding's weight a metre",
    given={
        "art": "16 x 20", "overlap": "1/4", "mats": "1", "border": "3/ 3/ 3 1/2/ 3",
        "face": "1 1/2", "rabbet": "1/4", "allowance": "1/8",
        "glazing": "glass 2 mm", "backing": "5 mm",
    },
    expected={
        "opening width": "15.5", "opening height": "19.5",
        "package width": "21.5", "package height": "26",
        "united inches": "47.5", "perimeter": "95", "square inches": "559",
        "rail across": "24.125", "rail down": "28.625",
        "outside width": "24.125", "outside height": "28.625",
        "rails": "105.5", "footage": "107.5",
    },
    facts={
        "moulding_kg_per_m": Fraction("0.9") * Fraction("0.0254") ** 2 * 470,
        "board_kg_per_m2": Fraction(1),
        "backing_kg_per_m2": Fraction("0.6"),
    },
)  # fmt: skip
WEIGHTS = {
    "square feet": "3.882", "glazing kg": "1.803", "mat kg": "0.166", "backing kg": "0.216",
    "frame kg": "0.731",
}  # fmt: skip


def test_the_whole_job():
    assert misses(WHOLE) == []


@pytest.mark.parametrize(("figure", "printed"), WEIGHTS.items())
def test_the_whole_jobs_area_and_weights_to_the_digits_it_prints(figure, printed):
    assert abs(FIGURES[figure](run(WHOLE)) - Fraction(printed)) <= Fraction("0.0005")


def test_the_whole_job_weighs_about_2_92_kg_or_6_43_lb():
    kg = FIGURES["kg"](run(WHOLE))
    assert round(kg, 2) == Fraction("2.92")
    assert round(kg / Fraction("0.45359237"), 2) == Fraction("6.43")


def test_the_eight_widths_exceed_the_rails_by_eight_rabbet_widths():
    # Derived: long by 8R - 4A from the package, which is 8R from the rabbet.
    done = run(WHOLE)
    over = FIGURES["footage"](done) - FIGURES["rails"](done)
    assert over == 8 * inch("1/4")
    assert over - 4 * inch("1/8") == inch("1 1/2")
