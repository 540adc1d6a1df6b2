"""Customers: the documents read, the resources answered, and the stored records."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

import phonenumbers
from email_validator import EmailNotValidError, validate_email

from schemas.quotes.records import QuoteHead
from schemas.wire.base import Shape, WireField
from schemas.wire.document import Document, Part, Several, read
from schemas.wire.faults import refusal
from schemas.wire.fields import KEPT_TEXT, Code, DateField, OneOf, Words
from schemas.wire.figures import instant
from schemas.wire.page import Cursor
from schemas.wire.shown import as_sent
from service.domain.customers import ADDRESS_USES, Address, Customer, Exemption

TOLD = ("id", "created_at", "updated_at", "version")


class EmailField(WireField[str]):
    """A mail address, checked for its form alone: nothing is asked of its domain."""

    shape: ClassVar[Shape] = {"type": "string", "maxLength": 254}

    def read(self, value: Any) -> str:
        """Return the address, its domain in lower case; "" for none. What is stored is taken."""
        if value == "" or KEPT_TEXT.get():
            return str(value)
        try:
            return validate_email(str(value), check_deliverability=False).normalized
        except EmailNotValidError as wrong:
            raise refusal("bad_value", f"this is no mail address: {wrong}") from wrong


class TelephoneField(WireField[str]):
    """A telephone number with its country code."""

    shape: ClassVar[Shape] = {"type": "string", "maxLength": 40}

    def read(self, value: Any) -> str:
        """Return the number in the form of E.164; "" for none. What is stored is taken."""
        if value == "" or KEPT_TEXT.get():
            return str(value)
        try:
            number = phonenumbers.parse(str(value)[:41], None)
        except phonenumbers.NumberParseException as wrong:
            told = "write a telephone number with + and its country code, as +1 202 555 0143"
            raise refusal("bad_value", told) from wrong
        if not phonenumbers.is_possible_number(number):
            raise refusal("bad_value", "a telephone number of that country has other digits")
        return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def is_mail(text: str) -> bool:
    """Return True if text has the form of a mail address."""
    try:
        validate_email(text, check_deliverability=False)
    except EmailNotValidError:
        return False
    return True


def is_number(text: str, near: str = "") -> bool:
    """Return True if text may be a telephone number.

    Args:
        text: the number.
        near: another number with its country code, such as the shop's: `text` is read as one of the
            same country unless it has a country code of its own.
    """
    try:
        number = phonenumbers.parse(text[:41], _country(near))
    except phonenumbers.NumberParseException:
        return False
    return phonenumbers.is_possible_number(number)


def _country(number: str) -> str | None:
    try:
        return phonenumbers.region_code_for_number(phonenumbers.parse(number, None))
    except phonenumbers.NumberParseException:
        return None


class PostalAddressDocument(Document):
    """A postal address."""

    makes = Address
    lines = Several(
        Words(shortest=1, longest=120),
        least=1,
        most=8,
        required=True,
        means="The lines as they stand on an envelope.",
    )
    use = OneOf(ADDRESS_USES, means="What it is for. Default: home.")
    postcode = Words(longest=20, means="The postcode, if the lines do not have it.")
    country = Words(longest=60, means="The country, if it is not the shop's.")


class TaxExemptionDocument(Document):
    """Why a customer pays no tax."""

    makes = Exemption
    certificate = Words(
        shortest=1, longest=120, required=True, means="The reference of the certificate."
    )
    last_day = DateField(
        load_default=None, means="The last day on which it holds; null if it has no end."
    )


class ShopCustomerDocument(Document):
    """A customer of the shop."""

    makes = Customer
    name = Words(longest=120, means="The name, as it is written on quotes.")
    company = Words(longest=120, means="The firm, school or gallery.")
    addresses = Several(Part(PostalAddressDocument), most=10, means="Postal addresses.")
    email = EmailField(means="The mail address; nothing is sent to it.")
    telephone = TelephoneField(means="The telephone number, with + and its country code.")
    level = Code(
        shortest=0, means="The code of the shop's price level; empty for the usual prices."
    )
    exemption = Part(
        TaxExemptionDocument,
        load_default=None,
        allow_none=True,
        means="The certificate by which no tax is charged; null for none.",
    )
    note = Words(longest=2000, lines=True, means="For the shop alone; it is on no paper.")


CUSTOMER = ShopCustomerDocument()


@dataclass(frozen=True, slots=True)
class CustomerRecord:
    """A stored customer."""

    id: str
    customer: Customer
    created_at: datetime
    updated_at: datetime
    version: int = 1


@dataclass(frozen=True, slots=True)
class CustomerPage:
    """A page of customers, and where the next one starts."""

    records: tuple[CustomerRecord, ...]
    after: Cursor | None


def read_customer(document: Any) -> Customer:
    """Return the customer that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    customer: Customer = read(CUSTOMER, as_sent(document, TOLD))
    return customer


def dump_customer(customer: Customer) -> dict[str, Any]:
    """Return the document of a customer, which `read_customer` reads back."""
    document: dict[str, Any] = CUSTOMER.dump(customer)
    return document


def customer_document(record: CustomerRecord) -> dict[str, Any]:
    """Return a stored customer as its resource."""
    return {
        "id": record.id,
        **dump_customer(record.customer),
        "created_at": instant(record.created_at),
        "updated_at": instant(record.updated_at),
        "version": record.version,
    }


def export_document(record: CustomerRecord, quotes: list[dict[str, Any]]) -> dict[str, Any]:
    """Return all that the shop keeps of a customer: the record, and what each quote says."""
    return {"customer": customer_document(record), "quotes": quotes}


def quote_line(head: QuoteHead) -> dict[str, Any]:
    """Return a quote's line in an export: its number, and what it says of the customer."""
    return {
        "id": head.id,
        "number": head.number,
        "status": head.status,
        "created_at": instant(head.created_at),
        "customer": json.loads(head.customer),
    }


class CustomerMergeDocument(Document):
    """Which customer is taken into this one."""

    customer_id = Code(required=True, means="The customer that is the same one, and then is gone.")


MERGE = CustomerMergeDocument()
