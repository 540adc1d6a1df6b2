"""Labour standard documents go in and out alike."""

from dataclasses import replace
from fractions import Fraction

import pytest

from schemas.labour import dump_labour_standard, load_labour_standard
from service.domain.errors import JobRefused
from service.domain.labour.multiplier import Multiplier
from service.domain.labour.standard import Hour, LabourStandard, Operation

STANDARD = LabourStandard(
    "bench-1",
    Fraction("46.5"),
    (
        Operation("cut", "Cut a window", "openings", Fraction("2.5"), Fraction(3)),
        Operation("fit", "Fit", "fittings", Fraction(8)),
    ),
)


def test_a_standard_comes_back_from_its_document_as_it_was():
    document = dump_labour_standard(STANDARD)
    assert load_labour_standard(document) == STANDARD
    assert document["operations"][0]["unit_minutes"] == "2.5"


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("driver", "opening", "bad_choice"),
        ("unit_minutes", "-1", "bad_number"),
        ("unit_minutes", None, "missing_field"),
        ("code", "", "bad_text"),
    ],
)
def test_a_wrong_operation_is_pointed_to(field, value, code):
    document = dump_labour_standard(STANDARD)
    document["operations"][1][field] = value
    with pytest.raises(JobRefused) as refused:
        load_labour_standard(document)
    (fault,) = refused.value.faults()
    assert (fault.pointer, fault.code) == (f"/operations/1/{field}", code)


WIDE = Multiplier(
    code="wide",
    looks_at="face_width",
    over=Fraction(3),
    operations=("cut",),
    factor=Fraction("1.3"),
)


def test_a_standard_with_an_hour_and_multipliers_comes_back_as_it_was():
    hour = Hour(Fraction(12720), Fraction(15700), Fraction(480))  # whose cost never ends
    given = replace(STANDARD, cost_per_hour=hour.cost(), hour=hour, multipliers=(WIDE,))
    document = dump_labour_standard(given)
    assert load_labour_standard(document) == given
    assert "cost_per_hour" not in document


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"hour": {"wages": "1", "overhead": "1", "productive_hours": "1"}}, "/hour"),
        ({"cost_per_hour": None}, "/cost_per_hour"),
        (
            {"multipliers": [{"code": "x", "looks_at": "face_width", "operations": ["no"]}]},
            "/multipliers/0/factor",
        ),
        (
            {
                "multipliers": [
                    {"code": "x", "looks_at": "face_width", "operations": ["no"], "factor": "2"}
                ]
            },
            "/multipliers/0/operations/0",
        ),
    ],
)
def test_an_hour_or_a_multiplier_that_makes_no_sense_is_pointed_to(change, pointer):
    document = dump_labour_standard(STANDARD) | change
    with pytest.raises(JobRefused) as refused:
        load_labour_standard(document)
    assert [fault.pointer for fault in refused.value.faults()] == [pointer]
