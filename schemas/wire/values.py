"""The values and small records that the documents of several rooms contain.

All figures are text: an exact number does not fit a JSON number.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from schemas.wire.record import UNSET, Record, Unset, component, doc, named, text
from service.domain.jobs.advice.advisory import Severity

_SEVEN = r"^-?[0-9]+(\.[0-9]{1,7})?$"
Money = Annotated[
    str,
    component(
        "Money",
        "An amount in the document's `currency`, with that currency's number of decimals "
        "(ISO 4217). Never a JSON number.",
        r"^-?[0-9]+(\.[0-9]+)?$",
        "184.50",
    ),
]
Number = Annotated[
    str,
    component(
        "Number",
        "A quantity, a rate or a measurement: exact if it ends within six decimals, otherwise "
        "rounded half up to six. Never a JSON number.",
        r"^-?[0-9]+(\.[0-9]{1,6})?$",
        "9.104167",
    ),
]
Rate = Annotated[
    str,
    component(
        "Rate",
        "An exact amount of money per unit, with up to twelve decimals: a cost has six and a "
        "markup factor six more. Never a JSON number.",
        r"^-?[0-9]+(\.[0-9]{1,12})?$",
        "8.265",
    ),
]
ExactNumber = Annotated[
    str,
    component(
        "ExactNumber",
        "A number exactly as it was set. Never a JSON number.",
        r"^-?[0-9]+(\.[0-9]{1,15})?$",
        "1.05",
    ),
]
Ratio = Annotated[str, Meta(extra_json_schema={"pattern": r"^-?[0-9]+(\.[0-9]{1,4})?$"})]
Uuid = Annotated[str, Meta(extra_json_schema={"format": "uuid"})]
Day = Annotated[str, Meta(extra_json_schema={"format": "date"})]
Instant = Annotated[
    str,
    Meta(
        extra_json_schema={
            "format": "date-time",
            "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z$",
        }
    ),
]
Moment = Annotated[str, Meta(extra_json_schema={"format": "date-time"})]
Currency = Annotated[str, text("The currency of every amount (ISO 4217).", "^[A-Z]{3}$")]
Pointer = Annotated[
    str, doc("The place in the document that was sent, as a JSON pointer (RFC 6901).")
]
Next = Annotated[str | None, doc("The cursor of the next page; null on the last page.")]
Until = Annotated[
    Annotated[str, Meta(extra_json_schema={"format": "date-time"})] | None,
    doc(
        "Where to continue: everything that changes after this answer has an `updated_at` at or "
        "after this instant. With several pages, use the one of the first page. Null if nothing "
        "has changed yet."
    ),
]


class Length(Record):
    """A length in three forms: decimal inches, millimetres, and the mark on the shop's ruler."""

    inches: Annotated[
        str,
        text("Inches; exact if seven decimals are enough.", _SEVEN, "16.375"),
    ] = named(name="in")
    mm: Annotated[str, text("Millimetres; always exact.", _SEVEN, "415.925")]
    shop: Annotated[
        str,
        text(
            "The nearest mark on the shop's ruler, in the ruler's unit; preceded by ≈ if the "
            "exact length lies between two marks.",
            r"^≈?-?([0-9]+|[0-9]+\.[0-9]{1,7}|([0-9]+ )?[0-9]+/[0-9]+)$",
            "16 3/8",
            "≈3/8",
        ),
    ]


class Size(Record):
    """A width and a height."""

    width: Annotated[Length, doc("The width.")]
    height: Annotated[Length, doc("The height.")]


class Sides(Record):
    """Four lengths, one for each side."""

    top: Annotated[Length, doc("The top side.")]
    right: Annotated[Length, doc("The right side.")]
    bottom: Annotated[Length, doc("The bottom side.")]
    left: Annotated[Length, doc("The left side.")]


class Fault(Record):
    """One thing that is wrong."""

    pointer: Pointer
    code: Annotated[str, doc("A stable word for programs.")]
    detail: Annotated[str, doc("What is wrong and what to do, in a framer's words.")]


class Advisory(Record):
    """What an experienced framer would point out.

    A job with a `stop` cannot be made: its quote may be kept as a draft, but it is not issued,
    promised or accepted, unless the shop overrides the stop.
    """

    code: Annotated[str, doc("A stable word for programs.")]
    severity: Annotated[Severity, doc("How serious it is.")]
    message: Annotated[str, doc("The text for people.")]
    path: Pointer
    overridden: Annotated[str, doc("Why the shop sets this stop aside.")] | Unset = UNSET


class PhotographShown(Record):
    """A photograph kept elsewhere."""

    url: Annotated[str, doc("Where it is kept.")]
    sha256: Annotated[str, doc("The SHA-256 of its file, in hexadecimal.")]
