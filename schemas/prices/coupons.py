"""Coupons: the documents read, the resources answered, and the stored records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from schemas.shop import CurrencyCode
from schemas.wire.document import Document, Several, read
from schemas.wire.fields import Code, DateField, ExactNumber, OneOf, StrictInteger, Words
from schemas.wire.figures import instant
from schemas.wire.page import Cursor
from schemas.wire.shown import as_sent
from service.domain.prices.coupons import REDUCED, Coupon, folded_code

TOLD = ("uses", "stopped", "created_at", "updated_at", "version")
NO_LIMIT = "null for no limit"


class CouponCode(Code):
    """A coupon's code: case does not count, and it is shown in capitals."""

    def read(self, value: Any) -> str:
        """Return the code as it is kept."""
        return folded_code(super().read(value))


class CouponDocument(Document):
    """A coupon of the shop."""

    makes = Coupon
    code = CouponCode(required=True, means="What the customer says; case does not count.")
    description = Words(
        shortest=1, longest=120, required=True, means="What it is for; quotes show it."
    )
    percent = ExactNumber(
        least=0,
        most=100,
        load_default=None,
        allow_none=True,
        means="The percentage that it takes off; give this or `amount`.",
    )
    amount = ExactNumber(
        least=0,
        load_default=None,
        allow_none=True,
        means="The amount that it takes off, at most all that there is; give this or `percent`.",
    )
    components = Several(
        OneOf(REDUCED),
        most=len(REDUCED),
        means="The components that it takes it off. Default: all goods; never fees or services.",
    )
    currency = CurrencyCode(
        load_default=None,
        allow_none=True,
        means="The currency of its amounts; null if it has none.",
    )
    minimum_order = ExactNumber(
        least=0, means="The least goods of an order, before tax and after all other discounts."
    )
    first_day = DateField(
        load_default=None, allow_none=True, means="The first day in the shop; null for any."
    )
    last_day = DateField(
        load_default=None, allow_none=True, means="The last day in the shop; null for any."
    )
    most_uses = StrictInteger(
        least=1,
        load_default=None,
        allow_none=True,
        means=f"How many accepted quotes may have it; {NO_LIMIT}.",
    )
    most_uses_each = StrictInteger(
        least=1,
        load_default=None,
        allow_none=True,
        means=f"How many of one customer of the shop (`customer_id`); {NO_LIMIT}.",
    )


COUPON = CouponDocument()


@dataclass(frozen=True, slots=True)
class CouponRecord:
    """A stored coupon, how many accepted quotes have it, and since when it is stopped, if so."""

    coupon: Coupon
    created_at: datetime
    updated_at: datetime
    uses: int = 0
    stopped_at: datetime | None = None
    version: int = 1


@dataclass(frozen=True, slots=True)
class CouponPage:
    """A page of coupons, and where the next one starts."""

    records: tuple[CouponRecord, ...]
    after: Cursor | None


def read_coupon(document: Any) -> Coupon:
    """Return the coupon that a document describes.

    Raises:
        JobRefused: with every fault found.
    """
    coupon: Coupon = read(COUPON, as_sent(document, TOLD))
    return coupon


def dump_coupon(coupon: Coupon) -> dict[str, Any]:
    """Return the document of a coupon, which `read_coupon` reads back."""
    document: dict[str, Any] = COUPON.dump(coupon)
    return document


def coupon_document(record: CouponRecord) -> dict[str, Any]:
    """Return a stored coupon as its resource."""
    return {
        **dump_coupon(record.coupon),
        "uses": record.uses,
        "stopped": record.stopped_at is not None,
        "created_at": instant(record.created_at),
        "updated_at": instant(record.updated_at),
        "version": record.version,
    }
