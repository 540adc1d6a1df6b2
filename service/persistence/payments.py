"""Payments of quotes, as the till reported them; they are never changed."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    String,
    Table,
    Text,
    UniqueConstraint,
    insert,
    select,
)

from schemas.payments.records import StoredPayment
from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.session import Session
from service.persistence.sql.types import Instant

payments = Table(
    "payments",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("quote_id", ID, ForeignKey("quotes.id"), nullable=False),
    Column("at", Instant, nullable=False),
    Column("paid_by", Text, nullable=False),
    Column("reference", Text, nullable=False),
    Column("currency", String(3), nullable=False),
    Column("amount_minor", BigInteger, nullable=False),
    Column("rounding_minor", BigInteger, nullable=False),
    Column("key_id", ID, nullable=False),
    UniqueConstraint("quote_id", "reference"),
    Index(None, "shop_id", "at"),
)
NAMES = tuple(column.name for column in payments.c)


class SqlPayments:
    """The payments of quotes over SQL."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, new: StoredPayment) -> None:
        """Store a payment; the quote is locked, so that nobody stores its reference beside."""
        row = {name: getattr(new, name) for name in NAMES}
        self._session.connection.execute(insert(payments), row)

    def of_quote(self, shop_id: str, quote_id: str) -> tuple[StoredPayment, ...]:
        """Return the payments of a quote, the first one first."""
        mine = select(payments).where(
            payments.c.shop_id == shop_id, payments.c.quote_id == quote_id
        )
        rows = self._session.connection.execute(mine.order_by(payments.c.at, payments.c.id))
        return tuple(_payment(row) for row in rows)


def _payment(row: Any) -> StoredPayment:
    return StoredPayment(**{name: getattr(row, name) for name in NAMES})
