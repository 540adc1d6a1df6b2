"""The document of a payment, and the records of what was paid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated

from schemas.payments.records import StoredPayment
from schemas.quotes.answer import balance_text
from schemas.quotes.records import QuoteHead
from schemas.wire.document import Document
from schemas.wire.fields import ExactNumber, OneOf, Words
from schemas.wire.figures import instant
from schemas.wire.record import Record, doc, growing
from schemas.wire.values import Currency as CurrencyText
from schemas.wire.values import Instant, Money
from service.domain.measure.money import Currency, minor_text
from service.domain.payments import PAID_BY


@dataclass(frozen=True, slots=True)
class PaymentAsked:
    """A payment as sent; its amount is not yet in a currency."""

    amount: Fraction
    paid_by: str
    reference: str


class PaymentDocument(Document):
    """A payment that the till took, or money that it gave back."""

    makes = PaymentAsked
    amount = ExactNumber(
        required=True,
        means=(
            "What it settles of the total, in the quote's currency; below zero for money given "
            "back. Cash rounding does not change it."
        ),
    )
    paid_by = OneOf(PAID_BY, required=True, means="How it was paid.")
    reference = Words(
        shortest=1,
        longest=80,
        required=True,
        means=(
            "The till's own number of this payment. One that comes again on the same quote is the "
            "same payment. Never the number of a card."
        ),
    )


class PaymentShown(Record):
    """A payment of a quote."""

    at: Annotated[Instant, doc("When the till reported it.")]
    amount: Annotated[Money, doc("What it settles of the total; below zero it was given back.")]
    rounding: Annotated[
        Money,
        doc("What cash rounding added to that in the customer's hand; below zero, what it took."),
    ]
    paid_by: Annotated[str, growing(PAID_BY, "How it was paid.")]
    reference: Annotated[str, doc("The till's own number of it.")]


class PaymentList(Record):
    """What was paid on a quote, and what is still owed."""

    number: Annotated[str, doc("The quote's number.")]
    currency: CurrencyText
    total: Annotated[Money, doc("The quote's total.")]
    paid: Annotated[Money, doc("All payments together.")]
    balance_due: Annotated[
        Money,
        doc("What the customer still owes; below zero, what the shop owes back."),
    ]
    items: Annotated[tuple[PaymentShown, ...], doc("The payments, the first one first.")]


def payment_list(head: QuoteHead, payments: Iterable[StoredPayment]) -> PaymentList:
    """Return what was paid on a quote, for display."""
    digits = Currency(head.currency).digits
    return PaymentList(
        number=head.number,
        currency=head.currency,
        total=minor_text(head.total_minor, digits),
        paid=minor_text(head.paid_minor, digits),
        balance_due=balance_text(head),
        items=tuple([_shown(each, digits) for each in payments]),
    )


def _shown(payment: StoredPayment, digits: int) -> PaymentShown:
    return PaymentShown(
        at=instant(payment.at),
        amount=minor_text(payment.amount_minor, digits),
        rounding=minor_text(payment.rounding_minor, digits),
        paid_by=payment.paid_by,
        reference=payment.reference,
    )
