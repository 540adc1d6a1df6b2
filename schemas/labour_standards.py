"""Labour standard documents: a shop's bench operations and their minutes."""

from __future__ import annotations

from typing import Any

from schemas.documents import Document, Part, Resource, Several, read
from schemas.fields import Code, ExactNumber, OneOf, Words
from service.domain.labour import DRIVERS, LabourStandard, Operation


class OperationDocument(Document):
    """One operation: minutes for each unit of its driver, and once for the set-up."""

    makes = Operation
    code = Code(required=True)
    description = Words(required=True)
    driver = OneOf(tuple(DRIVERS), required=True)
    unit_minutes = ExactNumber(least=0, required=True)
    set_up_minutes = ExactNumber(least=0)


class LabourStandardDocument(Resource):
    """A whole standard."""

    makes = LabourStandard
    code = Code(required=True)
    cost_per_hour = ExactNumber(least=0, required=True)
    operations = Several(Part(OperationDocument), least=1, most=500, required=True)


LABOUR_STANDARD_DOCUMENT = LabourStandardDocument()


def load_labour_standard(document: object) -> LabourStandard:
    """The labour standard that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    standard: LabourStandard = read(LABOUR_STANDARD_DOCUMENT, document)
    return standard


def dump_labour_standard(standard: LabourStandard) -> dict[str, Any]:
    """The document of a labour standard, from which `load_labour_standard` makes an equal one."""
    document: dict[str, Any] = LABOUR_STANDARD_DOCUMENT.dump(standard)
    return document
