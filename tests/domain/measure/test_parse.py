"""Lengths as people write them, and nothing that only looks like one."""

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from service.domain.errors import BadLength
from service.domain.measure.length import LONGEST, Length
from service.domain.measure.parse import LONGEST_TEXT, read_length, read_number, read_size
from tests.proofs import examples

F = Fraction
WRITTEN = [
    ("16 3/8 in", F(131, 8)),
    ('16 3/8"', F(131, 8)),
    ("16-3/8", F(131, 8)),
    ("16⅜″", F(131, 8)),
    ("16⅜", F(131, 8)),
    ("16 3⁄8”", F(131, 8)),
    ("16\u00a03/8", F(131, 8)),
    ("16.375", F(131, 8)),
    ("1 ft 4 3/8 in", F(131, 8)),
    ("1 ft 4 3/8", F(131, 8)),
    ("1' 4 3/8\"", F(131, 8)),
    ("1′4⅜″", F(131, 8)),
    ("1'-4 3/8\"", F(131, 8)),
    ("1 foot 4.375 inches", F(131, 8)),
    ("15/16", F(15, 16)),
    ("11/16 in", F(11, 16)),
    ("3/8", F(3, 8)),
    ("⅞", F(7, 8)),
    ("5/4", F(5, 4)),
    ("2'", F(24)),
    ("2 ft.", F(24)),
    ("1.5'", F(18)),
    ("1 1/2 ft", F(18)),
    ("5''", F(5)),
    ("0", F(0)),
    (" 7 IN. ", F(7)),
]
METRIC = [
    ("415.925 mm", "415.925"),
    ("41.6 cm", "416"),
    ("0.416 m", "416"),
    ("41.5925cm", "415.925"),
    ("1 1/2 cm", "15"),
]


@pytest.mark.parametrize(("text", "inches"), WRITTEN)
def test_a_length_in_inches_is_read_as_it_is_said(text, inches):
    assert read_length(text, "in") == Length.inches(inches)


@pytest.mark.parametrize(("text", "millimetres"), METRIC)
def test_a_metric_length_is_read_exactly(text, millimetres):
    assert read_length(text, "in") == Length.millimetres(millimetres)


@pytest.mark.parametrize(("unit", "millimetres"), [("in", "50.8"), ("mm", "2"), ("cm", "20")])
def test_a_bare_number_is_in_the_documents_unit(unit, millimetres):
    assert read_length("2", unit) == Length.millimetres(millimetres)


def test_feet_make_what_follows_inches_whatever_the_documents_unit():
    assert read_length("1 ft 4", "mm") == Length.inches(16)


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("", "not a length"),
        ("   ", "not a length"),
        ("a bit", "not a length"),
        ("-3", "negative"),
        ("-3/8", "negative"),
        ("- 3/8", "negative"),
        ("−3/8", "negative"),
        ("1,5", "comma"),
        ("16 20/8", "not below one"),
        ("16 8/8", "not below one"),
        ("163/8", "two ways"),
        ("12/8", "two ways"),
        ("16/16", "two ways"),
        ("113/16", "two ways"),
        ("16 - 3/8", "not a length"),
        ("16--3/8", "not a length"),
        ("1 ft -", "not a length"),
        ("16.5 1/2", "not a length"),
        ("16 3/8 3/8", "not a length"),
        ("½½", "not a length"),
        ("16 3/8 in 2", "not a length"),
        ("1 ft 4 cm", "not a length"),
        ("1 ft 2 ft", "not a length"),
        ("5.", "not a length"),
        (".5", "not a length"),
        ("1e3", "not a length"),
        ("1e10000000", "not a length"),
        ("0x10", "not a length"),
        ("1_000", "not a length"),
        ("nan", "not a length"),
        ("inf", "not a length"),
        ("٣", "not a length"),
        ("１６", "not a length"),
        ("16 3/0", "divides by zero"),
        ("12345678", "not a length"),
        ("1 10000/20000", "not a length"),
        ("1.5000000000", "not a length"),
        ("5 furlongs", "not a unit"),
        ("5 yd", "not a unit"),
        ("1/3", "21/64 in"),
        ("0.0000001 mm", "finer"),
        ("201 ft", "longer than 200 ft"),
        ("9999999", "longer than 200 ft"),
        ("1" * (LONGEST_TEXT + 1), "at most 40 characters"),
    ],
)
def test_what_is_no_length_is_refused_with_its_reason(text, because):
    with pytest.raises(BadLength, match=because):
        read_length(text, "in")


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("0000002", 2),
        ("0000001 1000/2000", F(3, 2)),
        ("1.500000000", F(3, 2)),
        ("00200 ft", 2_400),
        ("2".rjust(LONGEST_TEXT), 2),
        ("8/8", 1),
        ("0/8", 0),
    ],
)
def test_the_longest_of_each_part_is_read(text, inches):
    assert read_length(text, "in") == Length.inches(inches)


def test_200_ft_is_the_longest():
    assert read_length("200 ft", "in") == Length(LONGEST)
    with pytest.raises(BadLength):
        read_length("200 ft 1/64 in", "in")


def test_pint_itself_misreads_the_texts_that_this_grammar_reads_right():
    # Why a customer's text never reaches the units library: it reads a mixed number as an
    # expression, "8 · 1/2" or "1 · 1/4in", without a word of warning.
    pints = pint.UnitRegistry()
    assert pints("8 1/2 in").to("inch").magnitude == 4
    assert pints.Quantity("1 1/4in").magnitude == pytest.approx(0.25)
    assert read_length("8 1/2 in", "in") == Length.inches("8.5")
    assert read_length("1 1/4in", "in") == Length.inches("1.25")


PIECES = st.sampled_from(
    [*"0123456789", *"./- xX×*'\"″′”’⁄,+−eE_", *"½⅓¼¾⅛⅜⅝⅞⅟↉¾", "in", "ft", "mm", "cm", "m", "by",
     "\u00a0", "\u2009", "\t", "\n", "٣", "０", "Ⅷ", "²", "ſ", "K", "\u0000", "\ud7ff", "🖼"]
)  # fmt: skip
TEXTS = st.lists(PIECES, max_size=60).map(lambda pieces: "".join(pieces)[:60]) | st.text(
    max_size=60
)


@settings(max_examples=examples(1500))
@example("1 ft -", "in")
@example("-3/8", "in")
@given(TEXTS, st.sampled_from(["in", "mm", "cm"]))
def test_no_text_makes_the_reader_fail_otherwise_than_by_refusing(text, unit):
    for read in (read_length, read_size):
        try:
            found = read(text, unit)
        except BadLength:
            continue
        assert not text.startswith("-")
        lengths = [found] if isinstance(found, Length) else [found.width, found.height]
        assert all(0 <= length.ticks <= LONGEST for length in lengths)


@given(st.integers(0, 99), st.integers(1, 63))
def test_every_mixed_number_is_read_as_its_whole_and_its_fraction(whole, over):
    part = F(over, 64)
    text = f"{whole} {part}" if whole else str(part)
    assert read_length(text, "in").in_inches() == whole + part


@pytest.mark.parametrize("text", ["16 x 20 in", "16x20", "16 × 20", '16" x 20"', "16 by 20 in"])
def test_a_size_is_two_lengths_width_first(text):
    found = read_size(text, "in")
    assert (found.width, found.height) == (Length.inches(16), Length.inches(20))


def test_a_unit_after_the_second_length_stands_for_both():
    metric = read_size("40 x 50 cm", "in")
    assert (metric.width, metric.height) == (Length.millimetres(400), Length.millimetres(500))
    feet = read_size("4 x 8 ft", "in")
    assert (feet.width, feet.height) == (Length.inches(48), Length.inches(96))
    assert read_size("4 x 8'", "in") == feet
    assert read_size("4 ft x 96", "in") == feet


@pytest.mark.parametrize("text", ["16", "16 x", "x 20", "16 x 20 x 2", "16 and 20"])
def test_what_is_no_size_is_refused(text):
    with pytest.raises(BadLength):
        read_size(text, "in")


@pytest.mark.parametrize(
    ("number", "unit", "millimetres"),
    [(2, "in", "50.8"), (Decimal("41.6"), "cm", "416"), (Decimal("1E+2"), "mm", "100")],
)
def test_a_json_number_is_read_as_a_decimal_in_the_documents_unit(number, unit, millimetres):
    assert read_number(number, unit) == Length.millimetres(millimetres)


@pytest.mark.parametrize(
    "number",
    [-1, Decimal("-0.5"), Decimal("NaN"), Decimal("Infinity"), Decimal("1e400"), 10**30,
     Decimal("1e-400"), Decimal("0.00001"), Decimal("0." + "3" * 25), 2401],
)  # fmt: skip
def test_a_json_number_that_is_no_length_is_refused(number):
    with pytest.raises(BadLength):
        read_number(number, "in")
