"""Drawings: to scale, every dimension written, no two texts over one another."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFont

import service.printing
from schemas.tickets.document import ticket_document
from schemas.wire.figures import plain
from service.domain.estimates.calculation import Basis, JobEstimate
from service.domain.jobs.job import MatSpec
from service.domain.jobs.mat import Grid
from service.domain.measure.length import Length
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket
from service.printing.drawing.labels import spread
from service.printing.drawing.sheet import Drawing, Outline, Polygon, Scale, Text, text_width
from service.printing.parts.views import ticket_backs, ticket_front, ticket_section
from tests.domain.bench_shop import inch
from tests.domain.tickets.random_jobs import estimates
from tests.domain.tickets.shop_jobs import sides, six_windows, spec, ticket
from tests.proofs import examples


def drawings(made: CutTicket, wide: int = 260, high: int = 220) -> Iterator[Drawing]:
    document = plain(ticket_document(made))
    yield ticket_front(document, wide, high)
    section = ticket_section(document, wide, high)
    if section:
        yield section
    yield from ticket_backs(document, wide, high)


def room(text: Text) -> tuple[int, int, int, int]:
    """The room of a text, worked out here anew from its anchor."""
    long, high = text_width(text.text, text.size), text.size
    before = {"start": 0, "middle": long / 2, "end": long}[text.anchor]
    if text.upright:
        low = text.y + before
        return int(text.x - high / 2), int(low - long), int(text.x + high / 2), int(low)
    left = text.x - before
    return int(left), int(text.y - high / 2), int(left + long), int(text.y + high / 2)


def assert_texts_are_apart(drawing: Drawing) -> None:
    boxes = [(text.text, room(text)) for text in drawing.texts()]
    for at, (name, (left, top, right, low)) in enumerate(boxes):
        assert left >= -1
        assert top >= -1
        assert right <= drawing.width + 1, name
        assert low <= drawing.height + 1, name
        for other, (o_left, o_top, o_right, o_low) in boxes[:at]:
            across = min(right, o_right) - max(left, o_left)
            down = min(low, o_low) - max(top, o_top)
            assert across <= 1 or down <= 1, (name, other)


@settings(
    max_examples=examples(400),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)
@given(estimates(), st.sampled_from([(260, 220), (160, 140), (300, 260)]))
def test_no_text_lies_over_another(drawn: tuple[JobEstimate, Basis], size: tuple[int, int]) -> None:
    made, shop = drawn
    for drawing in drawings(make_ticket(made, shop.shop), *size):
        assert_texts_are_apart(drawing)


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
        assert_texts_are_apart(drawing)


def test_every_dimension_of_the_front_is_written() -> None:
    """Borders, window, package and outside of a job with two mats, in the shop's marks."""
    front, section, top, under = drawings(ticket(spec()))
    texts = {text.text for text in front.texts()}
    # Across: border 2, opening 16 5/8, border 2 1/2; package 21 1/8; outside 23 1/4.
    # Down: 3, 20 1/4, 3 1/2; 26 3/4; 28 7/8. Inside: what shows, 16 1/8 x 19 3/4.
    assert texts == {
        "2", "16 5/8", "2 1/2", "21 1/8", "23 1/4", "3", "20 1/4", "3 1/2", "26 3/4", "28 7/8",
        "16 1/8 x 19 3/4",
    }  # fmt: skip
    assert {text.text for text in top.texts()} >= {"L 2 1/2", "R 2", "T 3", "B 3 1/2"}
    assert {text.text for text in under.texts()} >= {"L 2 3/4", "R 2 1/4", "T 3 1/4", "B 3 3/4"}
    named = {text.text for text in section.texts()}
    assert {"top mat 1/16 in", "mat 2 1/16 in", "glazing 2 mm", "backing 3/16 in"} <= named
    assert {"face 1 1/4", "lip 1/4", "rabbet 1/2 deep"} <= named
    assert any("times as large" in note for note in section.notes)


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
    """Against the font file itself, in thousandths, for every character that drawings use."""
    path = Path(service.printing.__file__).parent / "parts" / "fonts" / "DejaVuSansCondensed.ttf"
    face = TTFont("measure", str(path)).face
    for code in range(32, 127):
        assert 0 <= text_width(chr(code), 1000) - face.getCharWidth(code) <= 1
    assert text_width("≈", 1000) >= face.getCharWidth(ord("≈"))


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
