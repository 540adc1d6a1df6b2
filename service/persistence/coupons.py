"""Stored coupons, and which accepted quotes use them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import orjson
from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    Table,
    Text,
    delete,
    func,
    insert,
    or_,
    select,
    update,
)

from schemas.prices.coupons import CouponPage, CouponRecord, dump_coupon, read_coupon
from schemas.wire.fields import kept_text
from schemas.wire.page import Cursor
from service.domain.errors import Conflict, NotFound, Stale
from service.persistence.customers import quote_customers
from service.persistence.sql.metadata import ID, column, metadata
from service.persistence.sql.pages import newest_first
from service.persistence.sql.session import Session
from service.persistence.sql.types import Document, Instant

coupons = Table(
    "coupons",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    column("document", Document),
    column("uses", BigInteger),
    column("most_uses", BigInteger, null=True),
    column("stopped_at", Instant, null=True),
    column("created_at", Instant),
    column("updated_at", Instant),
    column("version", BigInteger),
    Index(None, "shop_id", "created_at", "code"),
)

coupon_uses = Table(
    "coupon_uses",
    metadata,
    Column("quote_id", ID, ForeignKey("quotes.id", ondelete="CASCADE"), primary_key=True),
    column("shop_id", ID),
    column("code", Text),
    column("used_at", Instant),
    Index(None, "shop_id", "code"),
)


class SqlCoupons:
    """The SQL implementation of the coupons' store."""

    def __init__(self, session: Session) -> None:
        self._connection = session.connection

    def add(self, shop_id: str, record: CouponRecord) -> None:
        """Store a new coupon.

        Raises:
            Conflict: the shop has one of this code.
        """
        code = record.coupon.code
        if self._row(shop_id, code) is not None:
            raise Conflict(f"there is a coupon {code} already", "/code")
        row = {"shop_id": shop_id, "code": code, "created_at": record.created_at, "uses": 0}
        self._connection.execute(insert(coupons), row | _changed(record))

    def by_code(self, shop_id: str, code: str) -> CouponRecord:
        """Return a coupon.

        Raises:
            NotFound: the shop has none of this code.
        """
        row = self._row(shop_id, code)
        if row is None:
            raise NotFound(f"this shop has no coupon {code}")
        return _record(row)

    def change(self, shop_id: str, was: CouponRecord, now: CouponRecord) -> None:
        """Replace a coupon, its uses left as they are.

        Raises:
            Stale: it was changed or used since it was read.
        """
        seen = *_of(shop_id, was.coupon.code), coupons.c.version == was.version
        change = update(coupons).where(*seen).values(_changed(now))
        if self._connection.execute(change).rowcount != 1:
            raise Stale("this coupon was changed or used just now; read it again")

    def page(self, shop_id: str, limit: int, after: Cursor | None = None) -> CouponPage:
        """Return a page of the shop's coupons, newest first."""
        mine = select(coupons).where(coupons.c.shop_id == shop_id)
        rows, following = newest_first(self._connection, mine, coupons, limit, after, named="code")
        return CouponPage(tuple(_record(row) for row in rows), following)

    def uses_by(self, shop_id: str, code: str, customer_id: str) -> int:
        """Return how many accepted quotes of a customer have a coupon."""
        joined = coupon_uses.join(
            quote_customers, quote_customers.c.quote_id == coupon_uses.c.quote_id
        )
        used = coupon_uses.c.shop_id == shop_id, coupon_uses.c.code == code
        theirs = quote_customers.c.customer_id == customer_id
        counted = select(func.count()).select_from(joined).where(*used, theirs)
        return int(self._connection.execute(counted).scalar_one())

    def used_for(self, quote_id: str) -> str:
        """Return the code of the coupon that counts as used for a quote; "" for none."""
        found = select(coupon_uses.c.code).where(coupon_uses.c.quote_id == quote_id)
        return self._connection.execute(found).scalar_one_or_none() or ""

    def use(self, shop_id: str, code: str, quote_id: str, at: datetime) -> None:
        """Count a use for a quote; one statement decides who takes the last one.

        Raises:
            Conflict: it is used up.
        """
        left = or_(coupons.c.most_uses.is_(None), coupons.c.uses < coupons.c.most_uses)
        if not self._count(shop_id, code, 1, at, left):
            told = f"the coupon {code} is used up: its last use was taken meanwhile"
            raise Conflict(f"{told}; revise the quote without it", "/coupon")
        row = {"quote_id": quote_id, "shop_id": shop_id, "code": code, "used_at": at}
        self._connection.execute(insert(coupon_uses), row)
        self._check_each(shop_id, code, quote_id)

    def give_back(self, shop_id: str, quote_id: str, at: datetime) -> str:
        """Take a quote's use back; return the coupon's code, or "" if it used none."""
        code = self.used_for(quote_id)
        if code:
            gone = delete(coupon_uses).where(coupon_uses.c.quote_id == quote_id)
            self._connection.execute(gone)
            self._count(shop_id, code, -1, at)
        return code

    def _check_each(self, shop_id: str, code: str, quote_id: str) -> None:
        """Check the limit of each customer; the coupon's row is locked, so uses are counted."""
        most = self.by_code(shop_id, code).coupon.most_uses_each
        who = select(quote_customers.c.customer_id).where(quote_customers.c.quote_id == quote_id)
        customer_id = self._connection.execute(who).scalar_one_or_none()
        if most and customer_id and self.uses_by(shop_id, code, customer_id) > most:
            told = f"the customer has had the coupon {code} as often as one may ({most})"
            raise Conflict(f"{told}; revise the quote without it", "/coupon")

    def _count(self, shop_id: str, code: str, by: int, at: datetime, *only: Any) -> bool:
        values = {
            "uses": coupons.c.uses + by,
            "version": coupons.c.version + 1,
            "updated_at": at,
        }
        change = update(coupons).where(*_of(shop_id, code), *only).values(values)
        return self._connection.execute(change).rowcount == 1

    def _row(self, shop_id: str, code: str) -> Any:
        return self._connection.execute(select(coupons).where(*_of(shop_id, code))).one_or_none()


def _of(shop_id: str, code: str) -> tuple[Any, Any]:
    return coupons.c.shop_id == shop_id, coupons.c.code == code


def _changed(record: CouponRecord) -> dict[str, Any]:
    return {
        "document": orjson.dumps(dump_coupon(record.coupon)),
        "most_uses": record.coupon.most_uses,
        "stopped_at": record.stopped_at,
        "updated_at": record.updated_at,
        "version": record.version,
    }


@kept_text()
def _record(row: Any) -> CouponRecord:
    coupon = read_coupon(orjson.loads(row.document))
    times = row.created_at, row.updated_at
    return CouponRecord(coupon, *times, row.uses, row.stopped_at, row.version)
