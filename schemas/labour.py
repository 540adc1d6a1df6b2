"""Labour standard documents: a shop's bench operations and their minutes, and what an hour costs.

The hour is told either as `cost_per_hour`, or as the wages, the overhead and the productive hours
that it follows from.
"""

from __future__ import annotations

from typing import Any

from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.fields import Code, ExactNumber, OneOf, OwnCode, Words
from service.domain.errors import BadValue
from service.domain.labour.multiplier import LOOKS, Multiplier
from service.domain.labour.standard import DRIVERS, Hour, LabourStandard, Operation


class BenchOperationDocument(Document):
    """One operation: minutes for each unit of its driver, and once for the set-up."""

    makes = Operation
    code = Code(required=True)
    description = Words(required=True)
    driver = OneOf(tuple(DRIVERS), required=True)
    unit_minutes = ExactNumber(least=0, required=True)
    set_up_minutes = ExactNumber(least=0)


class HourDocument(Document):
    """What a productive hour is made of: (wages + overhead) / productive hours, over one period."""

    makes = Hour
    wages = ExactNumber(least=0, required=True)
    overhead = ExactNumber(least=0, required=True)
    productive_hours = ExactNumber(least=0, required=True)


class MultiplierDocument(Document):
    """A factor on the minutes of some operations, for jobs that are wide, ornate or large."""

    makes = Multiplier
    code = Code(required=True)
    looks_at = OneOf(LOOKS, required=True)
    over = ExactNumber(least=0)
    groups = Several(Code(), most=100)
    operations = Several(Code(), least=1, most=100, required=True)
    factor = ExactNumber(least=0, most=100, required=True)


class LabourStandardDocument(Resource):
    """A whole standard."""

    makes = LabourStandard
    code = OwnCode(required=True)
    cost_per_hour = ExactNumber(least=0)
    hour = Part(HourDocument)
    operations = Several(Part(BenchOperationDocument), least=1, most=500, required=True)
    multipliers = Several(Part(MultiplierDocument), most=100)

    def make(self, values: dict[str, Any]) -> Any:
        """The standard; its hour costs what it is made of.

        Raises:
            BadValue: the cost of an hour is told neither way, or both ways.
        """
        hour = values.get("hour")
        if (hour is None) == ("cost_per_hour" not in values):
            raise BadValue("tell either cost_per_hour, or the hour it follows from", "/hour")
        if hour is not None:
            values["cost_per_hour"] = hour.cost()
        return super().make(values)


LABOUR_STANDARD_DOCUMENT = LabourStandardDocument()
_BY_COST = LabourStandardDocument(exclude=("hour",))
_BY_HOUR = LabourStandardDocument(exclude=("cost_per_hour",))


def load_labour_standard(document: object) -> LabourStandard:
    """The labour standard that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    standard: LabourStandard = read(LABOUR_STANDARD_DOCUMENT, document)
    return standard


def dump_labour_standard(standard: LabourStandard) -> dict[str, Any]:
    """The document of a labour standard, from which `load_labour_standard` makes an equal one."""
    schema = _BY_COST if standard.hour is None else _BY_HOUR
    document: dict[str, Any] = schema.dump(standard)
    if not standard.multipliers:
        del document["multipliers"]
    return document
