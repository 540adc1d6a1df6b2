"""Payments: each is recorded once, and changes what the customer still owes.

The quote is locked first, so that two tills take turns. A reference that comes again on the same
quote is the same payment, told again.
"""

from __future__ import annotations

from dataclasses import replace

from schemas.payments.records import StoredPayment
from schemas.quotes.records import QuoteHead
from service.app.keys.actor import Actor
from service.app.quotes import note_change, stands
from service.domain.errors import Conflict
from service.domain.measure.money import Currency, Money, minor_text
from service.domain.payments import Payment, check_payment
from service.domain.prices.cash import cash_rounded
from service.domain.shop import Ordering
from service.persistence.unit_of_work import UnitOfWork


def pay(
    uow: UnitOfWork, locked: QuoteHead, payment: Payment, actor: Actor, payment_id: str
) -> QuoteHead:
    """Record a payment of a locked quote, and return the quote as it is then; the caller commits.

    Raises:
        Conflict: the reference is that of another payment.
        BadValue: more is settled than is open, or more given back than was paid.
    """
    if _told_before(uow, locked, payment):
        return locked
    currency = Currency(locked.currency)
    total, paid = Money(locked.total_minor, currency), Money(locked.paid_minor, currency)
    check_payment(payment, total, paid, stands(locked, actor))
    new = StoredPayment(
        id=payment_id,
        shop_id=locked.shop_id,
        quote_id=locked.id,
        at=actor.now,
        paid_by=payment.paid_by,
        reference=payment.reference,
        currency=locked.currency,
        amount_minor=payment.amount.minor,
        rounding_minor=_rounding(payment, actor.shop.ordering),
        key_id=actor.key_id,
    )
    uow.payments.add(new)
    now = replace(locked, paid_minor=locked.paid_minor + new.amount_minor)
    return note_change(uow, locked, now, "quote.paid", actor)


def _rounding(payment: Payment, ordering: Ordering) -> int:
    """Return what cash rounding adds to an amount in the hand, in minor units."""
    if payment.paid_by != "cash":
        return 0
    handed = cash_rounded(payment.amount, ordering.cash_step, ordering.cash_rounding)
    return (handed - payment.amount).minor


def _told_before(uow: UnitOfWork, locked: QuoteHead, payment: Payment) -> bool:
    """Return True if this very payment was recorded before.

    Raises:
        Conflict: another one was, under its reference.
    """
    for known in uow.payments.of_quote(locked.shop_id, locked.id):
        if known.reference != payment.reference:
            continue
        if (known.amount_minor, known.paid_by) == (payment.amount.minor, payment.paid_by):
            return True
        was = minor_text(known.amount_minor, payment.amount.currency.digits)
        raise Conflict(
            f"{payment.reference} is the reference of another payment of quote {locked.number}: "
            f"{was} by {known.paid_by}",
            "/reference",
        )
    return False
