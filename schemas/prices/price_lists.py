"""Price list documents: rules, bracket tables and quantity breaks.

Rates are decimals only, so that what is written is what was reckoned with: a rate of 1/3 cannot be
said, and no list can come out other than it went in.
"""

from __future__ import annotations

from typing import Any

from schemas.wire.document import Document, Part, Resource, Several, read
from schemas.wire.faults import refusal
from schemas.wire.fields import Code, DateField, ExactNumber, OneOf, OwnCode, StrictInteger, Words
from schemas.wire.wire_field import WireField
from service.domain.errors import BadMoney
from service.domain.measure.money import Currency
from service.domain.prices.lists import (
    APPLIES,
    BASES,
    COMPONENTS,
    METHODS,
    Bracket,
    PriceList,
    PriceRule,
    QuantityBreak,
)


class CurrencyField(WireField[Currency]):
    """A currency by its ISO 4217 code."""

    def json_shape(self) -> dict[str, object]:
        """Three capital letters."""
        return {"type": "string", "pattern": "^[A-Z]{3}$"}

    def read(self, value: Any) -> Currency:
        """A currency that amounts can be kept in."""
        return currency_of(value)

    def _serialize(self, value: Currency | None, attr: Any, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else value.code


def currency_of(value: object) -> Currency:
    """The currency that a text names.

    Raises:
        ValidationError: no such currency here.
    """
    if type(value) is not str or len(value) != 3:
        raise refusal("bad_currency", "a currency is three letters, as in USD")
    try:
        return Currency(value)
    except BadMoney as error:
        raise refusal("bad_currency", error.message) from error


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
    """The price list that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    price_list: PriceList = read(PRICE_LIST_DOCUMENT, document)
    return price_list


def dump_price_list(price_list: PriceList) -> dict[str, Any]:
    """The document of a price list, from which `load_price_list` makes one that prices alike.

    Raises:
        BadValue: a rate that does not end in decimals.
    """
    document: dict[str, Any] = PRICE_LIST_DOCUMENT.dump(price_list)
    return document
