"""Golden weights and ovals, as whole jobs."""

from fractions import Fraction

import pytest

from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import GlazingSpec
from service.domain.jobs.mat import Grid, MatSpec, edge_length
from service.domain.measure.length import Sides, Size
from tests.domain.bench_shop import inch
from tests.domain.sample_jobs import PLAIN, art, done
from tests.golden.case import DERIVED, PRACTICE, PUBLISHED, Case, run
from tests.golden.figures import FIGURES

F = Fraction
WEIGHTS = [
    Case(
        name="glass a millimetre thick",
        source="EN 572-1: 2500 kg/m³, so 1 m² of glass 1 mm thick is 2.5 kg",
        mark=PUBLISHED,
        because="area · thickness · 2500 kg/m³",
        given={"art": "1000 x 1000", "glazing": "glass 1 mm"},
        expected={"glazing kg": "2.5"},
        unit="mm",
    ),
    Case(
        name="lite of glass",
        source="24x36 in lite of 2 mm: 0.5574 m² x 5 kg = 2.79 kg",
        mark=DERIVED,
        because="the lite is the package",
        given={"art": "24 x 36", "glazing": "glass 2 mm"},
        expected={"glazing kg": "2.79"},
        near="0.005",
    ),
    Case(
        name="lite of acrylic",
        source="the same in acrylic of 3 mm: 1.99 kg",
        mark=DERIVED,
        because="1190 kg/m³ (ISO 7823-1 data sheets)",
        given={"art": "24 x 36", "glazing": "acrylic 3 mm"},
        expected={"glazing kg": "1.99"},
        near="0.005",
    ),
    Case(
        name="MDF board",
        source="worked by hand: 700 kg/m³ of 1/2 in over 4 x 8 ft",
        mark=PRACTICE,
        because="700 · 0.0127 kg/m² over 2.9729 m²",
        given={"art": "48 x 96", "backing": "1/2"},
        facts={"backing_kg_per_m2": 700 * F("0.0127")},
        expected={"backing kg": "26.43"},
        near="0.005",
    ),
]


@pytest.mark.parametrize("case", WEIGHTS, ids=lambda case: case.name)
def test_a_golden_weight_comes_out_as_its_source_says(case):
    done_job = run(case)
    for name, text in case.expected.items():
        assert abs(FIGURES[name](done_job) - F(text)) <= F(case.near)


def test_a_square_foot_of_glass_weighs_what_section_4_derives_from_its_true_thickness():
    # 2 mm: 1.02 lb/ft², 2.5 mm: 1.28, 3 mm: 1.54; a page that takes 3/32 in prints 1.22: rejected.
    for mm, pounds in (("2", "1.02"), ("2.5", "1.28"), ("3", "1.54")):
        lite = Case(
            name=mm, source="", mark=DERIVED, because="", expected={},
            given={"art": "12 x 12", "glazing": f"glass {mm} mm"},
        )  # fmt: skip
        found = FIGURES["glazing kg"](run(lite)) / F("0.45359237")
        assert abs(found - F(pounds)) < F("0.006")


@pytest.mark.parametrize(
    ("a", "b", "edge"),
    [
        ("5", "3", "25.527"),  # published to 25.5
        ("8", "5", "41.386"),  # published 41.4
        ("6", "4", "31.731"),  # published 31.7
        ("12", "9", "66.310"),  # 66.31 by formula and integration; a page's 67.4 is wrong
    ],
)
def test_a_golden_oval_is_the_edge_of_a_jobs_window(a, b, edge):
    # The sources give semi-axes of the oval; ours is the window, so the art is 2a + 2·overlap.
    wide, high = 2 * inch(a) + inch("1/4"), 2 * inch(b) + inch("1/4")
    artwork = Artwork(Size(wide, high))
    job = done(
        PLAIN,
        artwork=artwork,
        openings=Grid(1, 1, inch("0"), "ellipse"),
        mats=(MatSpec("WHITE", Sides.all(inch("2"))),),
        glazing=GlazingSpec("PLASTIC"),
    )
    (window,) = job.sizes.layers[0].windows
    assert abs(edge_length(window).in_inches() - F(edge)) < F("0.001")


@pytest.mark.parametrize("wrong", ["67.4"])
def test_the_printed_length_of_the_24_by_18_oval_is_rejected(wrong):
    window = done(
        artwork=art("24 1/4 x 18 1/4"), openings=Grid(1, 1, inch("0"), "ellipse")
    ).sizes.layers[0].windows[0]  # fmt: skip
    found = edge_length(window).in_inches()
    assert round(found, 2) == F("66.31")
    assert abs(found - F(wrong)) > 1
