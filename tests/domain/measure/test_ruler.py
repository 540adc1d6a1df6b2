"""What the shop's ruler shows: marks, and "≈" between them."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadValue
from service.domain.measure.length import LONGEST, Length
from service.domain.measure.parse import read_length
from service.domain.measure.ruler import Ruler, length_texts


def inch(number: str) -> Length:
    return Length.inches(Fraction(number))


mm = Length.millimetres
RULERS = [
    *(Ruler("in", inch(step)) for step in ("1", "1/2", "1/8", "1/16", "1/32", "1/64", "1/128")),
    Ruler("in", inch("1/10")),
    Ruler("in", inch("1/100")),
    *(Ruler("mm", mm(step)) for step in ("1", "0.5", "0.1", "0.25")),
    *(Ruler("cm", mm(step)) for step in ("10", "1", "0.5", "0.1")),
]
TICKS = st.integers(0, LONGEST - inch("1").ticks)
SIXTEENTHS = Ruler("in", inch("1/16"))


@pytest.mark.parametrize("ruler", RULERS, ids=lambda r: f"{r.unit} by {r.step.ticks}")
@given(ticks=TICKS)
def test_a_mark_that_is_printed_reads_back_to_the_same_length(ruler, ticks):
    length = Length(ticks - ticks % ruler.step.ticks)
    shown = ruler.mark(length)
    assert not shown.startswith("≈")
    assert read_length(shown, ruler.unit) == length
    assert read_length(ruler.with_unit(length), "mm") == length


@pytest.mark.parametrize("ruler", RULERS, ids=lambda r: f"{r.unit} by {r.step.ticks}")
@given(ticks=TICKS)
def test_between_marks_the_nearest_is_shown_and_said_to_be_about(ruler, ticks):
    shown = ruler.mark(Length(ticks))
    near = read_length(shown.removeprefix("≈"), ruler.unit)
    assert 2 * abs(near.ticks - ticks) <= ruler.step.ticks
    assert shown.startswith("≈") == (near.ticks != ticks)


@pytest.mark.parametrize(
    ("inches", "shown"),
    [("131/8", "16 3/8"), ("16", "16"), ("3/8", "3/8"), ("0", "0"), ("167/16", "10 7/16"),
     ("1/32", "≈1/16"), ("3/32", "≈1/8"), ("63/64", "≈1"), ("1/64", "≈0"), ("-3/8", "-3/8"),
     ("-131/8", "-16 3/8"), ("-1/32", "≈-1/16")],
)  # fmt: skip
def test_an_inch_ruler_shows_fractions_in_lowest_terms_and_ties_go_up(inches, shown):
    assert SIXTEENTHS.mark(inch(inches)) == shown


@pytest.mark.parametrize(
    ("ruler", "millimetres", "shown"),
    [
        (Ruler("mm", mm(1)), "416", "416"),
        (Ruler("mm", mm(1)), "415.925", "≈416"),
        (Ruler("mm", mm(1)), "415.5", "≈416"),
        (Ruler("mm", mm(1)), "415.4999375", "≈415"),
        (Ruler("mm", mm("0.5")), "415.5", "415.5"),
        (Ruler("mm", mm("0.5")), "415.25", "≈415.5"),
        (Ruler("mm", mm("0.5")), "415.2", "≈415"),
        (Ruler("cm", mm(1)), "416", "41.6"),
        (Ruler("cm", mm(1)), "410", "41"),
        (Ruler("cm", mm(1)), "415.5", "≈41.6"),
        (Ruler("cm", mm("0.5")), "415.5", "41.55"),
        (Ruler("cm", mm(1)), "-4", "-0.4"),
    ],
)
def test_a_metric_ruler_shows_decimals_and_ties_go_up(ruler, millimetres, shown):
    assert ruler.mark(mm(millimetres)) == shown


def test_a_decimal_inch_ruler_shows_decimals():
    assert Ruler("in", inch("1/10")).mark(inch("163/10")) == "16.3"
    assert Ruler("in", inch("1/10")).mark(inch("131/8")) == "≈16.4"


@pytest.mark.parametrize(
    ("unit", "step", "pointer"),
    [("ft", inch("1"), "/unit"), ("in", Length(0), "/step"), ("in", -inch("1/8"), "/step"),
     ("in", mm(1), "/step"), ("in", mm("0.2"), "/step"), ("in", mm("0.1"), "/step"),
     ("mm", inch("1/16"), "/step"), ("in", inch("2"), "/step")],
)  # fmt: skip
def test_a_ruler_that_does_not_close_on_its_unit_is_refused(unit, step, pointer):
    with pytest.raises(BadValue) as refused:
        Ruler(unit, step)
    assert refused.value.where == pointer


@given(TICKS)
def test_the_wires_millimetres_are_exact_and_its_inches_name_one_tick(ticks):
    inches, millimetres, _ = length_texts(ticks, Ruler("in", Length(25_400)))
    assert mm(millimetres).ticks == ticks
    assert round(Fraction(inches) * 406_400) == ticks


def test_the_three_forms_of_the_contracts_own_example():
    # The length that the description of the interface shows.
    expected = ("16.375", "415.925", "16 3/8")
    assert length_texts(inch("131/8").ticks, Ruler("in", inch("1/16"))) == expected
