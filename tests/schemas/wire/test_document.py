"""Whole documents: all faults at once, where they stand, and the quick way equal to the slow."""

from dataclasses import dataclass
from fractions import Fraction

import pytest
from marshmallow import Schema, ValidationError, validates_schema

from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.fields import Code, ExactNumber, StrictInteger
from schemas.wire.lengths import LengthField
from service.domain.errors import BadValue, JobRefused
from service.domain.measure.length import Length


@dataclass(frozen=True)
class Strip:
    code: str
    size: Length
    kind: str = "plain"

    def __post_init__(self) -> None:
        if not self.size:
            raise BadValue("a strip has a size", "/size")


class StripDocument(Document):
    makes = Strip
    code = Code(required=True)
    width = LengthField(required=True, attribute="size")
    kind = Code()


class RackDocument(Resource):
    name = Code(required=True)
    strips = Several(Part(StripDocument), most=3)
    first = Part(StripDocument)
    shelves = StrictInteger(least=1, most=9)
    weight = ExactNumber(load_default=None)


GOOD = {"units": "mm", "name": "A", "strips": [{"code": "S", "width": 5}], "shelves": 2}


def faults_of(document: object) -> list[tuple[str, str]]:
    with pytest.raises(JobRefused) as refused:
        read(RackDocument(), document)
    return [(fault.pointer, fault.code) for fault in refused.value.faults()]


def test_a_document_becomes_domain_objects_and_absent_fields_keep_the_domains_defaults():
    rack = read(RackDocument(), GOOD)
    assert rack["strips"] == (Strip("S", Length.millimetres(5), "plain"),)
    assert rack["weight"] is None
    assert "units" not in rack


def test_the_quick_way_and_marshmallows_way_give_the_same():
    for document in (GOOD, {"name": "B"}, {"name": "C", "weight": None, "first": {**STRIP}}):
        schema = RackDocument()
        assert schema.quick(document) == Schema.load(schema, document)


STRIP = {"code": "S", "width": "2 in"}


def test_all_faults_are_told_at_once_in_the_order_of_the_document():
    document = {
        "shelves": 2.5,
        "strips": [{"width": "wide", "code": ""}, STRIP, {"codes": "S", "width": "1"}],
        "nmae": "A",
    }
    assert faults_of(document) == [
        ("/shelves", "bad_number"),
        ("/strips/0/width", "bad_length"),
        ("/strips/0/code", "bad_text"),
        ("/strips/2/codes", "unknown_field"),
        ("/strips/2/code", "missing_field"),
        ("/nmae", "unknown_field"),
        ("/name", "missing_field"),
    ]


def test_an_unknown_field_is_named_and_the_right_name_suggested():
    with pytest.raises(JobRefused, match=r"nmae is not a field here; did you mean name\?"):
        read(RackDocument(), {"name": "A", "nmae": "B"})
    with pytest.raises(JobRefused, match="colour is not a field here; the fields here are units,"):
        read(RackDocument(), {"name": "A", "colour": "B"})


def test_pointers_are_escaped_as_rfc_6901_section_3_asks():
    assert faults_of({"name": "A", "a/b~c": 1}) == [("/a~1b~0c", "unknown_field")]


def test_a_refusal_of_the_domain_points_to_the_name_on_the_wire():
    with pytest.raises(JobRefused) as refused:
        read(RackDocument(), {"name": "A", "first": {"code": "S", "width": 0}})
    (fault,) = refused.value.faults()
    assert (fault.pointer, fault.code, fault.detail) == (
        "/first/width",
        "bad_value",
        "a strip has a size",
    )


@pytest.mark.parametrize("document", [None, [], "x", 3, True, Fraction(1)])
def test_what_is_no_object_is_refused(document):
    assert faults_of(document) == [("", "bad_value")]


def test_an_object_is_not_taken_for_the_list_of_its_names():
    assert faults_of({"name": "A", "strips": {"code": "S"}}) == [("/strips", "bad_value")]


def test_a_list_has_a_limit_and_no_empty_places():
    assert faults_of({"name": "A", "strips": [STRIP] * 4}) == [("/strips", "bad_value")]
    assert faults_of({"name": "A", "strips": [STRIP, None]}) == [("/strips/1", "missing_field")]
    assert faults_of({"name": "A", "strips": None}) == [("/strips", "missing_field")]


def test_a_unit_that_is_none_is_a_fault_and_not_a_guess():
    assert faults_of({"name": "A", "units": "yd"}) == [("/units", "bad_choice")]
    assert faults_of({"name": "A", "units": ["in"]}) == [("/units", "bad_choice")]


class Narrow(StripDocument):
    @validates_schema
    def narrow_enough(self, values, **_):
        if values["size"] > Length.inches(9):
            raise ValidationError("too wide", "width")


class Holder(Resource):
    strip = Part(Narrow)


def test_a_schema_with_marshmallow_hooks_of_its_own_has_them_run():
    assert read(Holder(), {"strip": STRIP})["strip"] == Strip("S", Length.inches(2))
    with pytest.raises(JobRefused) as refused:
        read(Holder(), {"strip": {"code": "S", "width": "10 in"}})
    assert [fault.pointer for fault in refused.value.faults()] == ["/strip/width"]


def test_marshmallow_alone_still_sees_a_validation_error():
    with pytest.raises(ValidationError):
        RackDocument().load({})
