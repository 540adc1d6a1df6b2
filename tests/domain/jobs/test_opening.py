"""Windows: areas against shapely, edges against scipy, and their arithmetic."""

import math
from fractions import Fraction

import pytest
import scipy.special
import shapely
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadValue
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.mat import (
    MOST_WINDOWS,
    PI,
    SHAPES,
    Grid,
    Placed,
    PlacedWindow,
    Window,
    edge_length,
    square_ticks,
)
from service.domain.measure.length import TICKS_PER_INCH, ZERO, Length, Sides, Size
from tests.domain.bench_shop import inch, size
from tests.domain.random_jobs import lengths

INCHES = st.integers(1, 960).map(lambda n: Fraction(n, 16))
SIDES = st.integers(1, 1000).map(lambda n: Length(n * 25_400))


def window(shape: str, width: Length, height: Length) -> Window:
    return Window(shape, ZERO, ZERO, Size(width, height))


def polygon(shape: str, w: float, h: float) -> shapely.Polygon:
    """The window as shapely builds it, in inches; round parts with 4 x 4096 segments."""
    if shape == "rectangle":
        return shapely.box(0, 0, w, h)
    circle = shapely.Point(0, 0).buffer(1, quad_segs=4096)
    if shape == "ellipse":
        return shapely.affinity.scale(circle, w / 2, h / 2)
    head = shapely.affinity.scale(circle, w / 2, w / 2)
    body = shapely.box(-w / 2, -(h - w / 2), w / 2, 0)
    return shapely.union(body, head)


@pytest.mark.parametrize("shape", SHAPES)
@given(width=SIDES, extra=SIDES)
def test_areas_are_shapelys(shape, width, extra):
    # Twice as high as wide at least, so that an arch has a body. A polygon of so many segments is
    # short of its circle by one part in 10^7.
    height = width + width + extra
    area = float(square_ticks(window(shape, width, height)) / TICKS_PER_INCH**2)
    w, h = float(width.in_inches()), float(height.in_inches())
    assert area == pytest.approx(polygon(shape, w, h).area, rel=1e-6)


@pytest.mark.parametrize("shape", SHAPES)
@given(width=SIDES, extra=SIDES)
def test_edges_are_shapelys(shape, width, extra):
    height = width + width + extra
    edge = float(edge_length(window(shape, width, height)).in_inches())
    w, h = float(width.in_inches()), float(height.in_inches())
    assert edge == pytest.approx(polygon(shape, w, h).exterior.length, rel=1e-6, abs=3e-6)


@given(SIDES, SIDES)
def test_an_ellipses_edge_is_scipys_complete_elliptic_integral(width, height):
    # 4·a·E(m), m = 1 - (b/a)²: scipy.special.ellipe.
    a, b = (float(side.in_inches()) / 2 for side in sorted((width, height), reverse=True))
    edge = float(edge_length(window("ellipse", width, height)).in_inches())
    assert edge == pytest.approx(4 * a * scipy.special.ellipe(1 - (b / a) ** 2), rel=1e-7, abs=1e-5)


@pytest.mark.parametrize(
    ("a", "b", "circumference"),
    [("5", "3", "25.527"), ("8", "5", "41.386"), ("6", "4", "31.731"), ("12", "9", "66.3105")],
)
def test_published_ovals(a, b, circumference):
    # Published to three digits, the rest derived; 12 and 9 by integration.
    oval = window("ellipse", 2 * inch(a), 2 * inch(b))
    assert abs(edge_length(oval).in_inches() - Fraction(circumference)) < Fraction("0.0005")


def test_the_24_by_18_oval_is_66_31_and_not_the_67_4_that_a_page_prints():
    # G2: formula and integration agree on 66.31.
    edge = edge_length(window("ellipse", inch("24"), inch("18"))).in_inches()
    assert round(edge, 2) == Fraction("66.31")


def test_pi_is_good_to_the_last_digit_of_a_double():
    assert float(PI) == math.pi


def test_a_circle_is_an_ellipse_and_half_a_circle_an_arch():
    circle = window("ellipse", inch("10"), inch("10"))
    assert float(edge_length(circle).in_inches()) == pytest.approx(10 * math.pi, abs=1e-5)
    arch = window("arch", inch("10"), inch("5"))
    assert square_ticks(arch) * 2 == square_ticks(circle)


def test_a_window_knows_its_far_edges_and_moves():
    one = Window("rectangle", inch("2"), inch("3"), size("8 x 10"))
    assert (one.right(), one.bottom()) == (inch("10"), inch("13"))
    assert one.moved(inch("1/8"), inch("1/4")) == Window(
        "rectangle", inch("1 7/8"), inch("2 3/4"), size("8 x 10")
    )


@given(*[lengths("0", "2")] * 4)
def test_a_shrunk_window_has_each_edge_moved_inwards_by_its_own_amount(top, right, bottom, left):
    one = Window("arch", inch("5"), inch("5"), size("8 x 10"))
    small = one.shrunk(Sides(top, right, bottom, left))
    assert small.shape == one.shape
    assert (small.x - one.x, small.y - one.y) == (left, top)
    assert (one.right() - small.right(), one.bottom() - small.bottom()) == (right, bottom)


@pytest.mark.parametrize(("rows", "columns"), [(0, 1), (1, 0), (-1, -1), (11, 10)])
def test_a_grid_of_no_windows_or_of_too_many_is_refused(rows, columns):
    with pytest.raises(BadValue):
        Grid(rows, columns)


def test_placed_windows_are_one_to_a_hundred():
    one = PlacedWindow(Artwork(size("8 x 10")), ZERO, ZERO)
    assert len(Placed((one,) * MOST_WINDOWS).windows) == MOST_WINDOWS
    for many in (0, MOST_WINDOWS + 1):
        with pytest.raises(BadValue):
            Placed((one,) * many)
