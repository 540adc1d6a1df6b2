"""Payments as the till reports them: amounts settled of a quote, and refunds below zero.

The service takes no money and keeps nothing of a card. A text that reads like a card number is
refused: 13 to 19 digits with the check digit of ISO/IEC 7812-1, annex B (Luhn).
"""

from __future__ import annotations

import re
from typing import Literal, get_args

from stdnum import luhn

from service.domain.errors import BadValue
from service.domain.measure.money import Money, minor_text
from service.domain.quotes.life import ACCEPTED, DONE, IN_WORK, ISSUED
from service.domain.value import dataclass

PaidBy = Literal["cash", "card", "transfer", "cheque", "voucher", "other"]
PAID_BY: tuple[str, ...] = get_args(PaidBy)
PAYABLE = (ISSUED, ACCEPTED, IN_WORK, DONE)
"""The states in which a quote may be paid; a deposit may come before the acceptance."""
OWED = (ACCEPTED, IN_WORK, DONE)
"""The states in which the customer owes the total."""
_DIGITS = re.compile(r"(?:[0-9][ .-]?){13,19}")


def card_number_in(text: str) -> bool:
    """Return True if a text has something in it that reads like the number of a card.

    >>> card_number_in("card 4111 1111 1111 1111"), card_number_in("receipt 4111 1111 1111 1112")
    (True, False)
    """
    found = (re.sub("[^0-9]", "", run) for run in _DIGITS.findall(text))
    return any(13 <= len(digits) <= 19 and luhn.is_valid(digits) for digits in found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Payment:
    """A payment, or with an amount below zero a refund; `reference` is the till's own number.

    Raises:
        BadValue: an amount of nothing, or a reference that reads like a card number.
    """

    amount: Money
    paid_by: PaidBy
    reference: str

    def __post_init__(self) -> None:
        if not self.amount.minor:
            raise BadValue("a payment is more than nothing; a refund is below it", "/amount")
        if card_number_in(self.reference):
            told = (
                "this reads like a card number, which is not kept here; give the receipt's number"
            )
            raise BadValue(told, "/reference")


def balance(total: Money, paid: Money, status: str) -> Money:
    """Return what the customer still owes; below zero, what the shop owes back.

    The total is owed from the acceptance on. Before it, and for a quote that came to nothing, all
    that was paid is the customer's.
    """
    return total - paid if status in OWED else -paid


def check_payment(payment: Payment, total: Money, paid: Money, status: str) -> None:
    """Check that a payment settles no more than the total, and a refund no more than was paid.

    Raises:
        BadValue: it does.
    """
    minor, digits = payment.amount.minor, total.currency.digits
    open_ = (total - paid).minor if status in PAYABLE else 0
    if minor > open_ and status not in PAYABLE:
        raise BadValue("nothing is to be paid on this quote; money is only given back", "/amount")
    if minor > open_:
        told = f"only {minor_text(open_, digits)} of the total is still open"
        raise BadValue(f"{told}; give change, or name the amount that is settled", "/amount")
    if paid.minor + minor < 0:
        told = f"only {minor_text(paid.minor, digits)} was paid, so no more can be given back"
        raise BadValue(told, "/amount")
