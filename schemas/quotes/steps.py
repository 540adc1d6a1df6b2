"""The request documents of a step of a quote or of a ticket's piece."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from schemas.wire.document import Document
from schemas.wire.faults import refusal
from schemas.wire.fields import DateField, StrictBoolean, StrictInteger, Words
from service.domain.jobs.job import MOST_OF_A_JOB


@dataclass(frozen=True, slots=True)
class StepReason:
    """The reason for a step; empty if none was given."""

    reason: str = ""


@dataclass(frozen=True, slots=True)
class Spoiling:
    """The reason why pieces were spoiled, and how many; None for all."""

    reason: str
    quantity: int | None = None


class QuoteStepDocument(Document):
    """The body of declining or withdrawing a quote."""

    makes = StepReason
    reason = Words(longest=500)


@dataclass(frozen=True, slots=True)
class Accepting:
    """The revision that the customer accepts; None for the only one on offer.

    `wanted_by` takes the place of the day in its document.
    """

    revision: int | None = None
    wanted_by: date | None = None


class AcceptDocument(Document):
    """The body of accepting a quote."""

    makes = Accepting
    revision = StrictInteger(least=1, most=1_000)
    wanted_by = DateField()


class SpoilDocument(Document):
    """The body of marking a piece as spoiled."""

    makes = Spoiling
    reason = Words(shortest=1, longest=500, required=True)
    quantity = StrictInteger(least=1, most=MOST_OF_A_JOB)


class NothingDocument(Document):
    """The body of a step without fields."""


class OnlyTrue(StrictBoolean):
    """A boolean that accepts only `true`."""

    def json_shape(self) -> dict[str, object]:
        """Return a shape that allows only true."""
        return {"type": "boolean", "const": True}

    def read(self, value: Any) -> bool:
        """Return True."""
        if not super().read(value):
            raise refusal("bad_value", "say true, or send a new document instead")
        return True


class RepriceDocument(Document):
    """A request to recalculate the same document at current prices."""

    reprice = OnlyTrue(required=True)


@dataclass(frozen=True, slots=True)
class Shelving:
    """Where finished work is put."""

    shelf: str


class ShelveDocument(Document):
    """The body of putting finished work on the shelf."""

    makes = Shelving
    shelf = Words(shortest=1, longest=40, required=True)


@dataclass(frozen=True, slots=True)
class Collecting:
    """Who takes the work along; empty if nobody said."""

    by: str = ""


class CollectDocument(Document):
    """The body of handing work over."""

    makes = Collecting
    by = Words(longest=120)


SHELVE = ShelveDocument()
COLLECT = CollectDocument()
QUOTE_STEP = QuoteStepDocument()
NOTHING = NothingDocument()
ACCEPT = AcceptDocument()
SPOIL = SpoilDocument()
REPRICE = RepriceDocument()
