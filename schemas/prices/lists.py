"""Price lists: the documents read, and the resources answered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any, Literal

import orjson

from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.fields import (
    Code,
    CurrencyField,
    DateField,
    ExactNumber,
    OneOf,
    OwnCode,
    StrictInteger,
    Words,
)
from schemas.wire.figures import Json, instant
from schemas.wire.shown import as_sent
from service.domain.errors import Fault, JobRefused
from service.domain.jobs.use import COMPONENTS
from service.domain.prices.check import Finding
from service.domain.prices.lists import (
    APPLIES,
    BASES,
    METHODS,
    Bracket,
    PriceList,
    PriceRule,
    QuantityBreak,
)

TOLD = ("state", "published_at", "version")


def price_list_document(
    record: PriceListRecord, everyone: tuple[PriceListRecord, ...], on: date, *, whole: bool = True
) -> Json:
    """Return a price list for display, with its state on a day; without rules unless `whole`."""
    schema = PRICE_LIST_DOCUMENT if whole else PRICE_LIST_HEAD
    document: Json = schema.dump(record.price_list)
    published = record.published_at
    return {
        **document,
        "state": standing(record, everyone, on),
        "published_at": None if published is None else instant(published),
        "version": record.version,
    }


def read_price_list(document: Any, code: str = "") -> PriceList:
    """Return the list in a document sent for a new one, or for the draft `code`.

    Raises:
        JobRefused: with every fault found; among them a code other than the list's own.
    """
    plain = as_sent(document, TOLD)
    if code and isinstance(plain, Mapping):
        plain = {"code": code, **plain}
        if plain["code"] != code:
            detail = f"a code is for good; this address is that of {code}"
            raise JobRefused([Fault("/code", "bad_value", detail)])
    return load_price_list(plain)


def findings_document(code: str, findings: Sequence[Finding]) -> Json:
    """Return the findings on a list."""
    rows = [{name: part for name, part in asdict(each).items() if part} for each in findings]
    errors = sum(finding.severity == "error" for finding in findings)
    return {"code": code, "errors": errors, "findings": rows}


class PriceListDocuments:
    """Writes price lists for the audit record; see `service.app.prices.lists`."""

    def price_list(self, price_list: PriceList) -> bytes:
        """Return the list as JSON."""
        return orjson.dumps(dump_price_list(price_list))


class BracketDocument(Document):
    """One row of a bracket table; the last has no `up_to`, or null."""

    makes = Bracket
    up_to = ExactNumber(least=0, load_default=None)
    rate = ExactNumber(least=0, required=True)


class RuleDocument(Document):
    """How one thing is priced."""

    makes = PriceRule
    code = Code(required=True)
    component = OneOf(COMPONENTS, required=True)
    item = Code(shortest=0)
    group = Code(shortest=0)
    supply = OneOf(("", "length", "chop", "join"))
    charge = Code()
    basis = OneOf(BASES, required=True)
    method = OneOf(METHODS, required=True)
    rate = ExactNumber(least=0)
    brackets = Several(Part(BracketDocument), most=200)
    above = ExactNumber(least=0)
    minimum = ExactNumber(least=0)
    set_up = ExactNumber(least=0)
    rounding_step = ExactNumber(least=0)
    tax_category = Code(shortest=0)
    applies = OneOf(APPLIES)
    description = Words(longest=120)


class BreakDocument(Document):
    """From so many of the same job on, so many percent off."""

    makes = QuantityBreak
    from_quantity = StrictInteger(least=2, required=True)
    percent = ExactNumber(least=0, most=100, required=True)


class PriceListDocument(Resource):
    """A whole price list."""

    makes = PriceList
    code = OwnCode(required=True)
    currency = CurrencyField(required=True)
    first_day = DateField(required=True)
    quantity_breaks = Several(Part(BreakDocument), most=50, attribute="breaks")
    rules = Several(Part(RuleDocument), least=1, most=5_000, required=True)


PRICE_LIST_DOCUMENT = PriceListDocument()
PRICE_LIST_HEAD = PriceListDocument(exclude=("rules",))


def load_price_list(document: object) -> PriceList:
    """Return the price list that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    price_list: PriceList = read(PRICE_LIST_DOCUMENT, document)
    return price_list


def dump_price_list(price_list: PriceList) -> dict[str, Any]:
    """Return the document of a price list, which `load_price_list` reads back with equal prices.

    Raises:
        BadValue: a rate without a terminating decimal.
    """
    document: dict[str, Any] = PRICE_LIST_DOCUMENT.dump(price_list)
    return document


Standing = Literal["draft", "coming", "in_force", "superseded"]


def standing(record: PriceListRecord, all_lists: tuple[PriceListRecord, ...], on: date) -> Standing:
    """Return the state of a list on a day, given all of its shop's lists in order of first day.

    Only lists in the same currency supersede each other.
    """
    if record.state == "draft":
        return "draft"
    if record.price_list.first_day > on:
        return "coming"
    alike = (r for r in all_lists if r.price_list.currency == record.price_list.currency)
    begun = [r for r in alike if r.state == "published" and r.price_list.first_day <= on]
    return "in_force" if begun[-1].price_list.code == record.price_list.code else "superseded"


PriceListState = Literal["draft", "published"]


@dataclass(frozen=True, slots=True)
class PriceListRecord:
    """A price list and its state. A published list is immutable: quotes refer to it."""

    price_list: PriceList
    state: PriceListState
    published_at: datetime | None
    version: int = 1
