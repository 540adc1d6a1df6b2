"""Labour standard documents go in and out alike."""

from fractions import Fraction

import pytest

from schemas.labour_standards import dump_labour_standard, load_labour_standard
from service.domain.errors import JobRefused
from service.domain.labour import LabourStandard, Operation

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
