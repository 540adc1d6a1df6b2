"""Price lists: the documents read, and the resources answered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal

import orjson

from schemas.prices import check_shapes
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
from schemas.wire.record import UNSET
from schemas.wire.shown import as_sent
from service.domain.errors import Fault, JobRefused
from service.domain.prices.check import Finding
from service.domain.prices.lists import (
    APPLIES,
    BASES,
    METHODS,
    PRICED,
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


def findings_document(code: str, findings: Sequence[Finding]) -> check_shapes.Findings:
    """Return the findings on a list."""
    rows = tuple(
        check_shapes.Finding(
            code=each.code,
            severity=each.severity,
            rule=each.rule or UNSET,
            item=each.item or UNSET,
            detail=each.detail,
        )
        for each in findings
    )
    errors = sum(finding.severity == "error" for finding in findings)
    return check_shapes.Findings(code, errors, rows)


class PriceListDocuments:
    """Writes price lists for the audit record; see `service.app.prices.lists`."""

    def price_list(self, price_list: PriceList) -> bytes:
        """Return the list as JSON."""
        return orjson.dumps(dump_price_list(price_list))


class BracketDocument(Document):
    """One row of a bracket table; the last has no `up_to`, or null."""

    makes = Bracket
    up_to = ExactNumber(
        least=0,
        load_default=None,
        means=(
            "The largest quantity in this bracket, or the largest unit cost for "
            "`sliding_markup`; null for the last bracket."
        ),
    )
    rate = ExactNumber(
        least=0, required=True, means="The amount, the rate or the factor in this bracket."
    )


class RuleDocument(Document):
    """How one thing is priced."""

    makes = PriceRule
    code = Code(required=True, means="The shop's code for the rule.")
    component = OneOf(PRICED, required=True, means="The component that it prices.")
    item = Code(
        shortest=0,
        means=(
            "The item that it prices; for a fee or a service, the word by which it is asked "
            "for. The most specific of the rules that fit applies."
        ),
    )
    group = Code(shortest=0, means="The price group that it prices.")
    supply = OneOf(
        ("", "length", "chop", "join"), means="The way of supply of moulding that it prices."
    )
    charge = Code(
        means=(
            "The name of the charge. Rules of different charges add up, such as the "
            "board and further openings in it."
        )
    )
    basis = OneOf(
        BASES,
        required=True,
        means=(
            "The unit of the quantity. A markup takes the item's cost on this basis; where the "
            "item has none, its first cost that the job has a quantity of, on that cost's basis, "
            "which the list's check names. A cost of a sheet is that of the sheet it is cut from."
        ),
    )
    method = OneOf(
        METHODS,
        required=True,
        means=(
            "`rate`: an amount per unit. `whole`: the amount of the bracket that the "
            "quantity falls into. `marginal`: each slice of the quantity at its own "
            "rate. `markup`: the item's cost times a factor. `sliding_markup`: a "
            "factor that depends on the unit cost."
        ),
    )
    rate = ExactNumber(least=0, means="Money per unit, or the factor of a markup.")
    brackets = Several(
        Part(BracketDocument),
        most=200,
        means="The brackets, rising and without gaps; the last has no end.",
    )
    above = ExactNumber(least=0, means="The number of free units.")
    minimum = ExactNumber(least=0, means="The least amount per piece.")
    set_up = ExactNumber(least=0, means="An amount once per job, whatever its quantity.")
    rounding_step = ExactNumber(
        least=0, means="The amount per piece is rounded half up to a multiple of this."
    )
    tax_category = Code(shortest=0, means="The tax category; empty for none. Default: goods.")
    applies = OneOf(APPLIES, means="For a fee: only if a job asks for it, or always.")
    description = Words(longest=120, means="For a fee or a service: the text of its line.")


class BreakDocument(Document):
    """From so many of the same job on, so many percent off."""

    makes = QuantityBreak
    from_quantity = StrictInteger(
        least=2, required=True, means="The quantity of the same job from which it applies."
    )
    percent = ExactNumber(
        least=0, most=100, required=True, means="The reduction of its lines, in percent."
    )


class PriceListDocument(Resource):
    """A whole price list."""

    makes = PriceList
    code = OwnCode(required=True, means="The shop's own code; it never changes.")
    currency = CurrencyField(
        required=True,
        means=(
            "The currency of its prices (ISO 4217). A list in another currency than "
            "the shop's cannot mark up costs, and is used only if a document asks "
            "for it."
        ),
    )
    first_day = DateField(
        required=True, means="The first day on which it is in force, once it is published."
    )
    quantity_breaks = Several(
        Part(BreakDocument),
        most=50,
        attribute="breaks",
        means="The reductions for several of the same job.",
    )
    rules = Several(Part(RuleDocument), least=1, most=5_000, required=True, means="The rules.")


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
