"""A payment as stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredPayment:
    """A payment of a quote; a refund has an amount below zero.

    `amount_minor` is what it settles of the total. `rounding_minor` is what cash rounding added to
    that in the customer's hand, or took from it.
    """

    id: str
    shop_id: str
    quote_id: str
    at: datetime
    paid_by: str
    reference: str
    currency: str
    amount_minor: int
    rounding_minor: int
    key_id: str
