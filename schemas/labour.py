"""Labour standards: a shop's bench operations, their minutes, and the hourly rate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import orjson

from schemas.shop import dump_shop
from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.fields import Code, ExactNumber, OneOf, OwnCode, Words
from schemas.wire.figures import Json, number
from schemas.wire.shown import as_sent
from service.domain.errors import BadValue, Fault, JobRefused
from service.domain.labour.multiplier import LOOKS, Multiplier
from service.domain.labour.standard import Hour, LabourStandard, Operation
from service.domain.shop import DRIVERS, Shop

_DRIVER = "The driver that its units count. " + "; ".join(
    f"`{name}`: {counts}" for name, counts in DRIVERS.items()
)


class BenchOperationDocument(Document):
    """One operation: minutes for each unit of its driver, and once for the set-up."""

    makes = Operation
    code = Code(required=True, means="The shop's code for it.")
    description = Words(required=True, means="What is done.")
    driver = OneOf(tuple(DRIVERS), required=True, means=_DRIVER)
    unit_minutes = ExactNumber(least=0, required=True, means="Minutes per unit of the driver.")
    set_up_minutes = ExactNumber(least=0, means="Minutes once per batch of the same job.")


class HourDocument(Document):
    """What a productive hour is made of: (wages + overhead) / productive hours, over one period."""

    makes = Hour
    wages = ExactNumber(
        least=0, required=True, means="Wages over a period, in the shop's currency."
    )
    overhead = ExactNumber(least=0, required=True, means="Overhead over the same period.")
    productive_hours = ExactNumber(
        least=0, required=True, means="The hours of that period worked on jobs."
    )


class MultiplierDocument(Document):
    """A factor on the minutes of some operations, for jobs that are wide, ornate or large."""

    makes = Multiplier
    code = Code(required=True, means="The shop's code for it.")
    looks_at = OneOf(
        LOOKS,
        required=True,
        means=(
            "What it depends on. `face_width`: the widest face of the job's frames. "
            "`moulding_group`: their price groups. `art_united_inches`: the largest "
            "artwork."
        ),
    )
    over = ExactNumber(least=0, means="It applies above this, in inches.")
    groups = Several(
        Code(),
        most=100,
        means="The price groups of moulding that it applies to, for `moulding_group`.",
    )
    operations = Several(
        Code(),
        least=1,
        most=100,
        required=True,
        means="The operations whose set-up and unit minutes it multiplies.",
    )
    factor = ExactNumber(least=0, most=100, required=True, means="The factor.")


class LabourStandardDocument(Resource):
    """A whole standard."""

    makes = LabourStandard
    code = OwnCode(required=True, means="The shop's own code; it never changes.")
    cost_per_hour = ExactNumber(
        least=0, means="The cost of an hour at the bench, in the shop's currency."
    )
    hour = Part(
        HourDocument,
        means=(
            "The components of the hour's cost: (wages + overhead) / productive "
            "hours. It replaces `cost_per_hour`."
        ),
    )
    operations = Several(
        Part(BenchOperationDocument),
        least=1,
        most=500,
        required=True,
        means="The bench operations, in the order in which they are shown.",
    )
    multipliers = Several(
        Part(MultiplierDocument),
        most=100,
        means=("Factors for jobs that take longer. All that apply are multiplied together."),
    )

    def make(self, values: dict[str, Any]) -> Any:
        """Return the standard; the cost of its hour follows from the hour's components.

        Raises:
            BadValue: the cost of an hour is given neither way, or both ways.
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
    """Return the labour standard that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    standard: LabourStandard = read(LABOUR_STANDARD_DOCUMENT, document)
    return standard


def dump_labour_standard(standard: LabourStandard) -> dict[str, Any]:
    """Return the document of a labour standard, which `load_labour_standard` reads back."""
    schema = _BY_COST if standard.hour is None else _BY_HOUR
    document: dict[str, Any] = schema.dump(standard)
    if not standard.multipliers:
        del document["multipliers"]
    return document


TOLD = ("version", "in_use")


def standard_document(record: StandardRecord, *, with_costs: bool) -> Json:
    """Return a standard for display; the cost of an hour only for keys that may see costs."""
    standard = record.standard
    document: Json = {"code": standard.code}
    written = dump_labour_standard(standard)
    if with_costs:
        document["cost_per_hour"] = number(standard.cost_per_hour)
        document["hour"] = written.get("hour")
    document["operations"] = written["operations"]
    document["multipliers"] = written.get("multipliers", [])
    return {**document, "in_use": record.in_use, "version": record.version}


def read_standard(document: Any, code: str = "") -> LabourStandard:
    """Return the standard in a document sent for a new one, or for the standard `code`.

    If an answer is sent back, its exact `hour` is used rather than the rounded `cost_per_hour`.

    Raises:
        JobRefused: with every fault found; among them a code other than the standard's own.
    """
    plain = as_sent(document, TOLD)
    if isinstance(plain, Mapping):
        if code:
            plain = {"code": code, **plain}
        if plain.get("hour", ...) is None:
            plain = {name: part for name, part in plain.items() if name != "hour"}
        elif "hour" in plain:
            plain = {name: part for name, part in plain.items() if name != "cost_per_hour"}
        if code and plain["code"] != code:
            detail = f"a code is for good; this address is that of {code}"
            raise JobRefused([Fault("/code", "bad_value", detail)])
    standard: LabourStandard = read(LABOUR_STANDARD_DOCUMENT, plain)
    return standard


class ShopKeepingDocuments:
    """Writes settings and standards for the audit record; see `service.app.labour`."""

    def shop(self, shop: Shop) -> bytes:
        """Return the settings as JSON."""
        return orjson.dumps(dump_shop(shop))

    def standard(self, standard: LabourStandard) -> bytes:
        """Return the standard as JSON."""
        return orjson.dumps(dump_labour_standard(standard))


@dataclass(frozen=True, slots=True)
class StandardRecord:
    """A labour standard as stored, and whether it is in use."""

    standard: LabourStandard
    version: int
    in_use: bool
