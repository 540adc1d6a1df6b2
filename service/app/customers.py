"""A shop's customers: kept, changed, merged, told and forgotten.

The change feed names a customer by id alone, since it is kept longer than the customer may be.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from schemas.customers import CustomerRecord, is_mail, is_number
from service.app.keys.access import Principal, token_parts
from service.app.keys.actor import Planner, VersionCheck, noted
from service.domain.customers import Customer
from service.domain.errors import Fault, JobRefused, NotFound
from service.domain.quotes.life import QuoteRequest
from service.domain.shop import Shop
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

SUBJECT = "customer"
CONTACT_FIELDS = ("name", "email", "telephone")
CONTACT = {
    "name": "give your name, so that the shop can answer",
    "reached": "give a mail address or a telephone number, so that the shop can answer",
    "email": "this is no mail address; write it as in name@example.org",
    "telephone": "this is no telephone number; write it with its area code, or as +1 202 555 0143",
}
"""What is said of a public draft that cannot be answered; the quote form says it in these words."""


@contextmanager
def answerable(document: Any, shop: Shop, principal: Principal, form_key: str) -> Iterator[None]:
    """Check that a public draft can be answered, beside what else is checked in the block.

    Args:
        document: the document as it was sent, readable or not.
        shop: the shop, with its setting `quote_form.contact`.
        principal: whose key it was sent with; the shop's own keys need no contact.
        form_key: the token of the quote form, or "".

    Raises:
        JobRefused: it has no name, nothing to answer to, or one of them is none; every fault of
            the block and of the contact is named.
    """
    asked = _asks_contact(shop, principal, form_key)
    faults = list(_contact_faults(document, shop.letterhead.telephone)) if asked else []
    try:
        yield
    except JobRefused as refused:
        known = {fault.pointer for fault in refused.faults()}
        more = [fault for fault in faults if fault.pointer not in known]
        raise JobRefused([*refused.faults(), *more]) from None
    if faults:
        raise JobRefused(faults)


def _asks_contact(shop: Shop, principal: Principal, form_key: str) -> bool:
    of_form = token_parts(form_key)[1] == principal.key_id
    asked = shop.quote_form.contact
    return not principal.may("counter") and (asked == "public" or (asked == "form" and of_form))


def _contact_faults(document: Any, shops_own: str) -> Iterator[Fault]:
    given = document.get("customer") if isinstance(document, Mapping) else None
    parts = given if isinstance(given, Mapping) else {}
    name, mail, number = (str(parts.get(each) or "").strip() for each in CONTACT_FIELDS)
    if not name:
        yield Fault("/customer/name", "missing_field", CONTACT["name"])
    if not mail and not number:
        yield Fault("/customer/email", "missing_field", CONTACT["reached"])
    if mail and not is_mail(mail):
        yield Fault("/customer/email", "bad_value", CONTACT["email"])
    if number and not is_number(number, shops_own):
        yield Fault("/customer/telephone", "bad_value", CONTACT["telephone"])


def for_customer(
    asked: QuoteRequest, units: UnitsOfWork, principal: Principal, day: date
) -> QuoteRequest:
    """Return a request with what the shop knows of its customer filled in.

    Name, mail and telephone are copied where the request leaves them out; an exemption that is in
    force on the day counts, unless the request gives a reason of its own, and so does the price
    level, unless the request names one.

    Raises:
        JobRefused: there is no such customer, or the key is not the shop's own.
    """
    if not asked.customer_id:
        return asked
    if not principal.may("counter"):
        told = "only the shop's own keys name its customers"
        raise JobRefused([Fault("/customer_id", "not_allowed", told)])
    try:
        with units.reading() as uow:
            record = uow.customers.by_id(principal.shop_id, asked.customer_id)
    except NotFound as missing:
        raise JobRefused([Fault("/customer_id", "unknown_customer", missing.message)]) from None
    known, given = record.customer, asked.customer
    copied = replace(
        given,
        name=given.name or known.shown,
        email=given.email or known.email,
        telephone=given.telephone or known.telephone,
        id=record.id,
    )
    conditions, exempt = asked.conditions, known.exemption
    if exempt is not None and exempt.holds(day) and not conditions.exempt:
        conditions = replace(conditions, exempt=f"certificate {exempt.certificate}")
    if known.level and not conditions.level:
        conditions = replace(conditions, level=known.level)
    return replace(asked, customer=copied, conditions=conditions)


def create_customer(uow: UnitOfWork, by: Planner, customer: Customer) -> CustomerRecord:
    """Store a new customer; the caller commits.

    There is no limit to count up to: only the shop's own keys store them, each at its rate.
    """
    record = CustomerRecord(by.new_id(), customer, by.now, by.now)
    uow.customers.add(by.shop_id, record)
    noted(uow, by, "customer.created", SUBJECT, record.id)
    return record


def change_customer(
    uow: UnitOfWork, by: Planner, customer_id: str, customer: Customer, check: VersionCheck
) -> CustomerRecord:
    """Replace a customer; quotes keep what they say. The caller commits.

    Raises:
        NotFound: the shop has no such customer.
        Stale: it has changed since it was seen.
    """
    was = uow.customers.by_id(by.shop_id, customer_id)
    check(was.version)
    now = replace(was, customer=customer, updated_at=_later(by, was), version=was.version + 1)
    uow.customers.change(by.shop_id, was, now)
    noted(uow, by, "customer.changed", SUBJECT, was.id, version=now.version)
    return now


def merge_customer(
    uow: UnitOfWork, by: Planner, customer_id: str, other_id: str, check: VersionCheck
) -> CustomerRecord:
    """Take another customer's quotes over; its id then leads to this one. The caller commits.

    What this one lacks (address, telephone, mail, level, exemption, note) it takes from the other.

    Raises:
        NotFound: the shop has no such customer.
        Stale: one of them has changed meanwhile.
        JobRefused: the two are the same.
    """
    was = uow.customers.by_id(by.shop_id, customer_id)
    check(was.version)
    other = uow.customers.by_id(by.shop_id, other_id)
    if other.id == was.id:
        raise JobRefused([Fault("/customer_id", "bad_choice", "that is this customer")])
    at = _later(by, was)
    uow.customers.merge(by.shop_id, other, was.id, at)
    kept = both(was.customer, other.customer)
    now = replace(was, customer=kept, updated_at=at, version=was.version + 1)
    uow.customers.change(by.shop_id, was, now)
    noted(uow, by, "customer.merged", SUBJECT, was.id, merged=other.id)
    return now


def both(one: Customer, other: Customer) -> Customer:
    """Return a customer with what it lacks taken from another; addresses and notes are joined."""
    notes = "\n".join(filter(None, (one.note, other.note)))[:2000]
    more = tuple(address for address in other.addresses if address not in one.addresses)
    return replace(
        one,
        name=one.name or other.name,
        company=one.company or other.company,
        addresses=(*one.addresses, *more)[:10],
        email=one.email or other.email,
        telephone=one.telephone or other.telephone,
        level=one.level or other.level,
        exemption=one.exemption or other.exemption,
        note=notes,
    )


def forget_customer(uow: UnitOfWork, by: Planner, customer_id: str, check: VersionCheck) -> int:
    """Erase a customer and what their quotes say of them; return the number of quotes.

    The quotes keep their figures. The caller commits.

    Raises:
        NotFound: the shop has no such customer.
        Stale: it has changed since it was seen.
    """
    seen = uow.customers.by_id(by.shop_id, customer_id)
    check(seen.version)
    theirs = [head.id for head in uow.customers.quotes_of(by.shop_id, seen.id)]
    count = uow.retention.forget_customer(by.shop_id, theirs)
    if seen.customer.email:
        uow.retention.forget_answers(by.shop_id, seen.customer.email)
    uow.customers.remove(by.shop_id, seen)
    noted(uow, by, "customer.forgotten", SUBJECT, seen.id, quotes=count)
    return count


def _later(by: Planner, was: CustomerRecord) -> datetime:
    return max(by.now, was.updated_at)
