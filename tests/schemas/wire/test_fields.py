"""The fields against the traps of readers that guess, and against lengths known exactly."""

import json
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow import ValidationError, fields

from schemas.wire.base import WireField
from schemas.wire.document import Resource, read
from schemas.wire.fields import (
    Code,
    DateField,
    ExactNumber,
    OneOf,
    StrictBoolean,
    StrictInteger,
    Words,
)
from schemas.wire.fields import number_text as text_of_number
from schemas.wire.lengths import (
    DOCUMENT_UNIT,
    LengthField,
    SidesField,
    SizeField,
    length_text,
    size_text,
)
from service.domain.errors import BadValue, Fault
from service.domain.measure.length import LONGEST, Length, Sides, Size


def inches(text: str) -> Length:
    return Length.inches(Fraction(text))


def only_fault(field: WireField, value: object) -> Fault:
    with pytest.raises(ValidationError) as refused:
        field.deserialize(value)
    (fault,) = refused.value.messages
    assert isinstance(fault, Fault)
    return fault


# --- lengths -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("16 3/8 in", "131/8"),
        ('16 3/8"', "131/8"),
        ("16⅜″", "131/8"),
        ("415.925 mm", "131/8"),
        ("1 ft 4 3/8 in", "131/8"),
        ("16.375", "131/8"),
        ("16 3/8", "131/8"),
        (Decimal("16.375"), "131/8"),
        (16, "16"),
    ],
)
def test_a_length_is_read_in_every_form_of_the_contract(written, meant):
    assert LengthField().deserialize(written) == inches(meant)


def test_a_bare_length_is_in_the_unit_of_the_document():
    token = DOCUMENT_UNIT.set("cm")
    try:
        assert LengthField().deserialize("41.6") == Length.millimetres(416)
        assert LengthField().deserialize(Decimal("41.6")) == Length.millimetres(416)
        assert LengthField().deserialize("1 in") == inches("1")
    finally:
        DOCUMENT_UNIT.reset(token)


@pytest.mark.parametrize(
    "value",
    [
        True,
        False,
        1.5,
        float("nan"),
        json.loads("NaN"),
        Decimal("NaN"),
        Decimal("Infinity"),
        Decimal("1e400"),
        Decimal("1e-400"),
        -1,
        "-1 in",
        "1/3 in",
        "1e3",
        "",
        "8 1/2 furlongs",
        [],
        {},
        b"1",
        "9" * 41,
        10**30,
    ],
)
def test_what_is_not_a_length_is_refused(value):
    assert only_fault(LengthField(), value).code == "bad_length"


def test_a_number_of_json_never_passes_through_a_binary_float():
    # 0.1 in is 40 640 ticks; the binary float nearest to 0.1 is off the grid of 1/16 µm.
    (number,) = json.loads("[0.1]", parse_float=Decimal)
    assert LengthField().deserialize(number).ticks == 40_640
    assert only_fault(LengthField(), 0.1).code == "bad_length"


@given(st.integers(0, LONGEST))
def test_every_length_is_written_as_text_that_reads_back_to_the_same_tick(ticks):
    assert LengthField().deserialize(length_text(Length(ticks))).ticks == ticks


@given(st.integers(1, LONGEST), st.integers(1, LONGEST))
def test_every_size_is_written_as_text_that_reads_back(width, height):
    size = Size(Length(width), Length(height))
    assert SizeField().deserialize(size_text(size)) == size


def test_a_length_is_written_on_the_inch_ruler_where_it_lies_on_it():
    assert length_text(inches("5/4")) == "1 1/4 in"
    assert length_text(inches("3/64")) == "3/64 in"
    assert length_text(inches("32")) == "32 in"
    assert length_text(Length.millimetres("2.5")) == "2.5 mm"
    assert length_text(Length(1)) == "0.0000625 mm"


def test_a_size_is_read_as_text_or_as_two_lengths():
    wanted = Size(inches("32"), inches("40"))
    assert SizeField().deserialize("32 x 40 in") == wanted
    assert SizeField().deserialize("32×40") == wanted
    assert SizeField().deserialize({"width": "32 in", "height": 40}) == wanted


def test_a_size_with_several_faults_tells_all_of_them():
    with pytest.raises(ValidationError) as refused:
        SizeField().deserialize({"width": "wide", "heigth": 40})
    assert set(refused.value.messages) == {"width", "height", "_schema"}


@pytest.mark.parametrize("value", ["32 in", "32 x 40 x 2", 32, True, None, ["32", "40"]])
def test_what_is_not_a_size_is_refused(value):
    with pytest.raises(ValidationError):
        SizeField().deserialize(value)


def test_sides_are_one_length_or_four():
    assert SidesField().deserialize("3 1/2") == Sides.all(inches("7/2"))
    four = {"top": "3", "right": "2", "bottom": "4", "left": "1"}
    assert SidesField().deserialize(four) == Sides(*(inches(i) for i in ("3", "2", "4", "1")))
    with pytest.raises(ValidationError) as refused:
        SidesField().deserialize({"top": "3", "bottom": "4"})
    assert set(refused.value.messages) == {"right", "left"}


@pytest.mark.parametrize(
    "written", ["3 1/2 in", {"top": "3 in", "right": "2 in", "bottom": "4 mm", "left": "1 in"}]
)
def test_sides_are_written_as_they_are_read(written):
    class Bordered(Resource):
        border = SidesField()

    assert Bordered().dump(read(Bordered(), {"border": written})) == {"border": written}


# --- numbers -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "meant"),
    [("184.50", "184.5"), (" 7 ", "7"), ("-3", "-3"), (Decimal("0.1"), "1/10"), (12, "12")],
)
def test_a_number_is_exact(written, meant):
    assert ExactNumber().deserialize(written) == Fraction(meant)


@pytest.mark.parametrize(
    "value",
    [
        True,
        0.1,
        float("nan"),
        Decimal("NaN"),
        Decimal("sNaN"),
        Decimal("-Infinity"),
        Decimal("1e400"),
        Decimal("1e-400"),
        10**400,
        pytest.param(10**5_000, id="an integer of 5001 digits"),
        "1e400",
        "1e2",
        "1/3",
        "NaN",
        "1_000",
        "١٢",
        "184,50",
        "1" * 41,
        "",
        [],
    ],
)
def test_what_is_not_a_plain_number_is_refused(value):
    assert only_fault(ExactNumber(), value).code == "bad_number"


def test_a_number_outside_its_bounds_is_refused():
    assert ExactNumber(least=0, most=100).deserialize("100") == 100
    assert "0 to 100" in only_fault(ExactNumber(least=0, most=100), "100.01").detail
    assert "at least 0" in only_fault(ExactNumber(least=0), "-0.01").detail


@given(st.decimals(-(10**9), 10**9, places=6, allow_nan=False))
def test_every_decimal_is_written_as_text_that_reads_back(number):
    exact = Fraction(number)
    assert ExactNumber().deserialize(text_of_number(exact)) == exact


def test_more_decimals_than_a_line_shows_are_refused():
    assert ExactNumber().deserialize("0.0000010") == Fraction(1, 10**6)
    assert only_fault(ExactNumber(), "0.0000015").code == "bad_number"
    assert "six decimals" in only_fault(ExactNumber(), Decimal("1.2345678")).detail


def test_a_third_cannot_be_written_and_is_not_rounded_instead():
    with pytest.raises(BadValue):
        text_of_number(Fraction(1, 3))


def test_whole_numbers_are_not_cut_down_from_fractions():
    assert fields.Integer().deserialize(3.9) == 3  # the trap: marshmallow's own field cuts
    for value in (Decimal("3.9"), "3", 3.9, 3.0, True, None, Decimal("NaN"), Decimal("1e400")):
        with pytest.raises(ValidationError):
            StrictInteger().deserialize(value)
    assert StrictInteger().deserialize(3) == 3
    assert StrictInteger().deserialize(Decimal("3.0")) == 3  # an integer by JSON Schema 2020-12
    assert "1 to 5" in only_fault(StrictInteger(least=1, most=5), 6).detail


def test_truth_is_not_guessed_from_words():
    assert fields.Boolean().deserialize("yes") is True  # the trap
    for value in ("yes", "true", 1, 0, "", Decimal(1)):
        assert only_fault(StrictBoolean(), value).code == "bad_value"
    assert StrictBoolean().deserialize(True) is True
    assert StrictBoolean().deserialize(False) is False


def test_marshmallows_decimal_takes_numbers_that_ours_refuses():
    assert fields.Decimal().deserialize("1e400") == Decimal("1e400")  # the trap
    assert only_fault(ExactNumber(), "1e400").code == "bad_number"


# --- words -------------------------------------------------------------------------------------


def test_a_code_is_trimmed_printable_and_of_limited_length():
    assert Code().deserialize("  BRD-1204 ") == "BRD-1204"
    assert Code().deserialize("x" * 40) == "x" * 40
    for value in ("", "   ", "x" * 41, "a\x00b", "a\nb", "a\x7fb", "\ud800", 12, None, True):
        with pytest.raises(ValidationError):
            Code().deserialize(value)


def test_words_may_have_lines_only_where_they_are_asked_for():
    assert Words(lines=True).deserialize("a\nb") == "a\nb"
    assert Words().deserialize("Größe 40×50 cm, “été”") == "Größe 40×50 cm, “été”"
    assert only_fault(Words(), "a\nb").code == "bad_text"
    assert only_fault(Words(lines=True), "a\x1bb").code == "bad_text"


def test_a_choice_names_what_may_be_chosen():
    assert OneOf(("in", "mm")).deserialize("mm") == "mm"
    assert only_fault(OneOf(("in", "mm")), "yd").detail == '"yd" is not one of in, mm'
    assert only_fault(OneOf(("in", "mm")), ["in"]).code == "bad_choice"


def test_a_day_is_written_in_one_way():
    assert DateField().deserialize("2026-10-01") == date(2026, 10, 1)
    for value in ("20261001", "2026-W40-4", "2026-02-30", "1.10.2026", 20261001, True):
        assert only_fault(DateField(), value).code == "bad_date"


@pytest.mark.parametrize(
    "field", [LengthField(), SizeField(), SidesField(), ExactNumber(least=0), StrictInteger()]
)
def test_every_field_tells_its_json_schema(field):
    assert {"type", "oneOf"} & set(field.json_shape())


def test_the_unit_of_a_document_is_forgotten_after_it():
    class Plain(Resource):
        width = LengthField()

    assert read(Plain(), {"units": "mm", "width": 16}, unit="in") == {
        "width": Length.millimetres(16)
    }
    assert DOCUMENT_UNIT.get() == "in"
