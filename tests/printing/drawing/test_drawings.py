"""Drawings: to scale, every dimension written, no two texts over one another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from xml.etree import ElementTree as Tree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import ImageFont

from schemas.tickets.document import ticket_document
from schemas.wire.figures import plain
from service.domain.estimates.calculation import Basis, JobEstimate
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import FrameSpec
from service.domain.jobs.mat import Grid, MatSpec, Single
from service.domain.measure.length import Length, Sides, Size
from service.domain.measure.parse import read_length
from service.domain.measure.ruler import Ruler
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket
from service.printing.drawing.dimensions import GAP
from service.printing.drawing.labels import spread
from service.printing.drawing.lettering import CAPITALS, FONT, TEXT, text_width
from service.printing.drawing.reading import Reading
from service.printing.drawing.scale import Scale
from service.printing.drawing.sheet import Dot, Drawing, Outline, Polygon, Stroke, Text
from service.printing.parts.svg import svg
from service.printing.parts.views import quote_front, ticket_backs, ticket_front, ticket_section
from tests.domain.bench_shop import basis, inch
from tests.domain.tickets.random_jobs import estimates
from tests.domain.tickets.shop_jobs import sides, six_windows, spec, ticket
from tests.printing.printed import printed_quote
from tests.proofs import examples

RULER = basis().shop.ruler
SHARP = 40
LETTERING = ImageFont.truetype(FONT, 10 * SHARP)
"""The drawings' own font at 10 pt, at 40 dots a point."""
CAPITAL = LETTERING.getbbox("1", anchor="ls")[3] - LETTERING.getbbox("1", anchor="ls")[1]
SLACK = 12
"""An eighth of a point, for what two libraries round."""


def drawings(made: CutTicket, wide: int = 260, high: int = 220) -> Iterator[Drawing]:
    document = plain(ticket_document(made))
    yield ticket_front(document, wide, high)
    section = ticket_section(document, wide, high)
    if section:
        yield section
    yield from ticket_backs(document, wide, high)


def room(text: Text) -> tuple[float, float, float, float]:
    """The ink of a text's capitals and figures, measured by another library than the drawing's."""
    long = LETTERING.getlength(text.text) / SHARP * 100
    high = CAPITAL / SHARP * 100
    before = {"start": 0, "middle": long / 2, "end": long}[text.anchor]
    if text.upright:
        low = text.y + before
        return text.x - high / 2, low - long, text.x + high / 2, low
    left = text.x - before
    return left, text.y - high / 2, left + long, text.y + high / 2


def assert_legible(drawing: Drawing) -> None:
    """No text leaves the page, or comes nearer to another than its own height (ISO 129-1)."""
    boxes = [(text.text, room(text)) for text in drawing.texts()]
    for at, (name, (left, top, right, low)) in enumerate(boxes):
        assert min(left, top) >= -SLACK, name
        assert right <= drawing.width + SLACK, name
        assert low <= drawing.height + SLACK, name
        for other, (o_left, o_top, o_right, o_low) in boxes[:at]:
            across = max(left, o_left) - min(right, o_right)
            down = max(top, o_top) - min(low, o_low)
            assert max(across, down) >= CAPITALS - SLACK, (name, other)


@settings(
    max_examples=examples(300),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)
@given(estimates(), st.sampled_from([(265, 250), (270, 340), (160, 140)]))
def test_no_text_lies_over_another(drawn: tuple[JobEstimate, Basis], size: tuple[int, int]) -> None:
    made, shop = drawn
    for drawing in drawings(make_ticket(made, shop.shop), *size):
        assert_legible(drawing)
        assert drawing.width <= size[0] * 100
        assert drawing.height <= size[1] * 100
        named = all(unit.endswith((" in", " mm")) for unit in written(drawing))
        assert named or any(note.startswith("all sizes in") for note in drawing.notes)


def test_lettering_is_as_high_on_paper_as_the_standard_asks() -> None:
    """ISO 3098: 2.5 mm is the smallest height here; SVG tells millimetres, so paper shows it."""
    assert Fraction(CAPITAL * 254, 72 * SHARP * 10) >= Fraction("2.5")
    for drawing in drawings(ticket(six_windows())):
        root = Tree.fromstring(svg(drawing))  # noqa: S314 — made here, a moment ago
        per_mm = int(root.get("viewBox", "").split()[2]) / float(root.get("width", "").rstrip("m"))
        sizes = {node.get("font-size") for node in root.iter() if node.tag.endswith("text")}
        assert sizes == {str(TEXT)}
        assert abs(TEXT / per_mm - 10 * 25.4 / 72) < 0.01


@pytest.mark.parametrize("columns", [1, 2, 3, 5, 8, 10])
def test_grids_stay_readable(columns: int) -> None:
    made = ticket(
        six_windows(
            openings=Grid(columns, columns, inch("1/2")),
            mats=(MatSpec("WHITE", border=sides("1|1 1/16|1 1/8|1 3/16")),),
            artwork=spec().artwork.__class__(spec().artwork.size.__class__(inch("2"), inch("2"))),
        )
    )
    for drawing in drawings(made):
        assert_legible(drawing)


def written(drawing: Drawing) -> set[str]:
    return {text.text for text in drawing.texts()}


def test_every_dimension_of_the_front_is_written_once() -> None:
    """Borders, window, package and outside of a job with two mats, in the shop's marks."""
    front, section, top, under = drawings(ticket(spec()))
    # Across: border 2, opening 16 5/8, border 2 1/2; package 21 1/8; outside 23 1/4.
    # Down: 3, 20 1/4, 3 1/2; 26 3/4; 28 7/8. The second mat shows 16 1/8 x 19 3/4.
    assert Counter(text.text for text in front.texts()) == Counter(
        [
            "2",
            "16 5/8",
            "2 1/2",
            "21 1/8",
            "23 1/4",
            "3",
            "20 1/4",
            "3 1/2",
            "26 3/4",
            "28 7/8",
            "mat 2",
            "16 1/8 x 19 3/4",
        ]
    )
    assert written(top) >= {"L 2 1/2", "R 2", "T 3", "B 3 1/2", "21 1/8", "26 3/4"}
    assert written(under) >= {"L 2 3/4", "R 2 1/4", "T 3 1/4", "B 3 3/4", "20 7/8", "26 1/2"}
    assert {"top mat 1/16 in", "mat 2 1/16 in", "glazing 2 mm", "backing 3/16 in"} <= written(
        section
    )
    assert {"face 1 1/4 in, lip 1/4 in", "rabbet 1/2 in"} <= written(section)
    assert any("times as large" in note for note in section.notes)


def test_more_than_four_windows_in_a_row_are_told_from_one_edge() -> None:
    """Six windows of 4 3/4 behind a border of 1 3/4, bars of 3/4 and the overlaps' 1/4."""
    front, *_ = drawings(ticket(six_windows(openings=Grid(2, 6, inch("3/4")))))
    edges = [Fraction("1.75") + n * Fraction("5.5") for n in range(6)]
    from_edge = {edge + more for edge in edges for more in (0, Fraction("4.75"))}
    assert written(front) >= {RULER.mark(Length.inches(edge)) for edge in from_edge}
    assert "4 3/4" not in written(front)  # no chain beside them
    assert "windows 1 to 12: 4 3/4 x 6 3/4" in front.notes


def test_curved_windows_have_centre_lines_axes_and_radius() -> None:
    """Opening 16 5/8 x 20 1/4, border 2 at the left and 3 above: the centre at 10 5/16 and 13 1/8.

    The arch springs 8 5/16 under its top, which is its radius: at 11 5/16.
    """
    oval, *_ = drawings(ticket(spec(openings=Single("ellipse"))))
    arch, *_ = drawings(ticket(spec(openings=Single("arch"))))
    assert written(oval) >= {"16 5/8", "20 1/4", "10 5/16", "10 13/16", "13 1/8", "13 5/8"}
    assert written(arch) >= {"16 5/8", "20 1/4", "10 5/16", "11 5/16", "15 7/16"}
    assert any("R 8 1/16" in text for text in [*written(arch), *arch.notes])  # what shows: 16 1/8
    for drawing in (oval, arch):
        assert sum(getattr(mark, "line", "") == "chain" for mark in drawing.marks) == 2


def test_floated_art_has_its_place() -> None:
    asked = spec(presentation="float", overlap=None, float_margin=inch("1/2"))
    front, *_ = drawings(ticket(asked))
    # Border 2, reveal 1/4, margin 1/2: 2 3/4 from the left; 3 + 3/4 from the top.
    assert written(front) >= {"2 3/4", "16 3/8", "3 1/4", "3 3/4", "20", "4 1/4"}


def test_the_section_shows_every_frame_of_a_stack() -> None:
    _, section, *_ = drawings(ticket(spec(frames=(FrameSpec("LIP"), FrameSpec("OAK")))))
    assert any(text.startswith("frame 1: face") for text in written(section))
    assert any(text.startswith("frame 2: face 1 1/4 in") for text in written(section))
    assert sum(isinstance(m, Polygon) and len(m.points) == 6 for m in section.marks) == 2


def test_a_leader_ends_inside_of_what_it_names() -> None:
    _, section, *_ = drawings(ticket(spec()))
    layers = [m for m in section.marks if isinstance(m, Polygon) and len(m.points) == 4]
    dots = [mark for mark in section.marks if isinstance(mark, Dot)]
    for layer, dot in zip(layers, dots, strict=True):
        xs, ys = zip(*layer.points, strict=True)
        assert min(xs) < dot.x < max(xs)
        assert min(ys) < dot.y < max(ys)


def test_extension_lines_leave_a_gap() -> None:
    front, *_ = drawings(ticket(spec()))
    low = max(y for mark in front.marks if isinstance(mark, Polygon) for _, y in mark.points)
    below = [m for m in front.marks if isinstance(m, Stroke) and m.x1 == m.x2 and m.y1 > low]
    assert len(below) == 4 + 2 + 2
    assert {mark.y1 - low for mark in below} == {GAP}


RULERS = {"in": RULER, "mm": Ruler("mm", Length.millimetres(1))}


@given(st.lists(st.integers(1, 400_000_0), min_size=2, max_size=9), st.sampled_from(["in", "mm"]))
def test_a_chain_closes_as_it_is_printed(parts: list[int], unit: str) -> None:
    points = [Length(sum(parts[:at])) for at in range(len(parts) + 1)]
    reading = Reading.of(RULERS[unit], points)
    printed = [read_length(f"{text} {reading.ruler.unit}", "in") for text in reading.parts(points)]
    whole = read_length(f"{reading.parts([points[0], points[-1]])[0]} {reading.ruler.unit}", "in")
    assert sum(length.ticks for length in printed) == whole.ticks
    for length, part in zip(printed, parts, strict=True):
        assert abs(length.ticks - part) < reading.ruler.step.ticks


def test_a_job_is_read_in_the_unit_it_was_given_in() -> None:
    """416 mm of art, overlaps of 3 and a border of 75: 410, 422 and 560 in a shop of inches."""
    asked = spec(
        artwork=Artwork(Size(Length.millimetres(416), Length.millimetres(508)), inch("1/64")),
        overlap=Length.millimetres(3),
        mats=(MatSpec("WHITE", border=Sides.all(Length.millimetres(75))),),
    )
    front, *_ = drawings(ticket(asked))
    assert written(front) >= {"75", "410"}
    assert "560 (≈22 1/16 in)" in {*written(front), *front.notes}
    assert "all sizes in millimetres" in front.notes
    job = printed_quote(spec())["jobs"][0]
    drawn = quote_front(job, RULERS["mm"], 260, 220)
    assert written(drawn) >= {"16 5/8"}
    assert "21 1/8 (≈537 mm)" in {*written(drawn), *drawn.notes}
    assert "all sizes in inches" in drawn.notes


def test_the_front_is_to_scale() -> None:
    """Outside 23 1/4 x 28 7/8 in, window 16 1/8 x 19 3/4: one scale, to a hundredth."""
    front, *_ = drawings(ticket(spec()))
    frame = next(mark for mark in front.marks if isinstance(mark, Polygon))
    wide = frame.points[1][0] - frame.points[0][0]
    high = frame.points[2][1] - frame.points[1][1]
    per_inch = Fraction(wide) / Fraction("23.25")
    assert abs(high - per_inch * Fraction("28.875")) <= 2
    inner = [mark for mark in front.marks if isinstance(mark, Outline)][-1]
    assert abs(inner.width - per_inch * Fraction("16.125")) <= 2
    assert abs(inner.height - per_inch * Fraction("19.75")) <= 2


def test_the_back_is_the_front_turned_over() -> None:
    document = plain(ticket_document(ticket(six_windows())))
    front = [m for m in ticket_front(document, 260, 220).marks if isinstance(m, Outline)]
    (back,) = ticket_backs(document, 260, 220)
    lying = [m for m in back.marks if isinstance(m, Outline)]
    assert [m.x for m in front[:3]] == sorted(m.x for m in front[:3])
    assert [m.x for m in lying[:3]] == sorted((m.x for m in lying[:3]), reverse=True)


def test_text_widths_are_the_fonts() -> None:
    """Against another library's reading of the font, for every character that drawings use."""
    for character in [*map(chr, range(32, 127)), "≈", "°"]:
        measured = LETTERING.getlength(character) / SHARP * 100
        assert abs(text_width(character) - measured) <= 3


@given(
    st.lists(st.tuples(st.integers(0, 5000), st.integers(1, 400)), max_size=12),
    st.integers(0, 500),
    st.integers(1000, 6000),
)
def test_labels_are_spread_in_order_and_within_bounds(
    wanted: list[tuple[int, int]], low: int, high: int
) -> None:
    wanted.sort()
    places, longs = [place for place, _ in wanted], [long for _, long in wanted]
    middles = spread(places, longs, low, high)
    if sum(longs) > high - low:
        assert middles is None
        return
    assert middles is not None
    starts = [middle - long // 2 for middle, long in zip(middles, longs, strict=True)]
    for at, start in enumerate(starts):
        assert start >= (starts[at - 1] + longs[at - 1] if at else low)
    assert not starts or starts[-1] + longs[-1] <= high


def test_labels_that_have_room_stay_where_they_are() -> None:
    assert spread([100, 300, 500], [50, 50, 50], 0, 600) == [100, 300, 500]


def test_a_scale_is_never_larger_than_life() -> None:
    scale = Scale.to_fit(inch("1"), inch("1"), (100_000, 100_000))
    assert scale.long(Length.inches(1)) == 7200
    assert scale.ratio_text() == "1 : 1"
