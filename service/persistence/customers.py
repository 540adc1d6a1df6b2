"""Stored customers, the parts of words that they are found by, and their quotes.

A part of a word is the beginning of one of its ends, so every end is a row of `customer_parts`, and
a search is a range of its primary key: the same on both databases, and without an extension.
pg_trgm and FTS5 were rejected: the first may not be installed, the second is SQLite's alone.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

import orjson
from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    Select,
    Table,
    Text,
    delete,
    insert,
    select,
    update,
)
from sqlalchemy.dialects import postgresql

from schemas.customers import CustomerPage, CustomerRecord, dump_customer, read_customer
from schemas.quotes.records import QuoteHead
from schemas.wire.fields import kept_text
from schemas.wire.page import Cursor
from service.domain.customers import Customer, parts_of
from service.domain.errors import NotFound, Stale
from service.persistence.quotes import head_of, quotes
from service.persistence.sql.metadata import ID, column, metadata
from service.persistence.sql.pages import newest_first
from service.persistence.sql.session import Session
from service.persistence.sql.types import Document, Instant

PART = Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")
"""Text in the order of its code points, so that a beginning is a range."""
LAST = "\U0010ffff"

customers = Table(
    "customers",
    metadata,
    Column("id", ID, primary_key=True),
    column("shop_id", ID, ForeignKey("shops.id")),
    column("document", Document),
    column("created_at", Instant),
    column("updated_at", Instant),
    column("version", BigInteger),
    column("merged_into", ID, null=True),
    Index(None, "shop_id", "created_at", "id"),
)

customer_parts = Table(
    "customer_parts",
    metadata,
    Column("shop_id", ID, primary_key=True),
    Column("part", PART, primary_key=True),
    Column("customer_id", ID, ForeignKey("customers.id"), primary_key=True),
    Index(None, "customer_id"),
    sqlite_with_rowid=False,
)

quote_customers = Table(
    "quote_customers",
    metadata,
    Column("quote_id", ID, ForeignKey("quotes.id", ondelete="CASCADE"), primary_key=True),
    column("shop_id", ID),
    column("customer_id", ID),
    Index(None, "shop_id", "customer_id"),
)


class SqlCustomers:
    """The SQL implementation of the customers' store."""

    def __init__(self, session: Session) -> None:
        self._connection = session.connection

    def add(self, shop_id: str, record: CustomerRecord) -> None:
        """Store a new customer."""
        row = {"id": record.id, "shop_id": shop_id, "created_at": record.created_at}
        row |= _changed(record) | {"merged_into": None}
        self._connection.execute(insert(customers), row)
        self._index(shop_id, record.id, record.customer)

    def by_id(self, shop_id: str, customer_id: str) -> CustomerRecord:
        """Return a customer; for one that was merged, the customer that it became.

        Raises:
            NotFound: the shop has none of this id.
        """
        for _ in range(_MOST_MERGES):
            mine = customers.c.shop_id == shop_id, customers.c.id == customer_id
            row = self._connection.execute(select(customers).where(*mine)).one_or_none()
            if row is None:
                break
            if row.merged_into is None:
                return _record(row)
            customer_id = row.merged_into
        raise NotFound("this shop has no such customer")

    def change(self, shop_id: str, was: CustomerRecord, now: CustomerRecord) -> None:
        """Replace a customer if nobody else has changed it.

        Raises:
            Stale: somebody has.
        """
        values = _changed(now)
        if not self._update(shop_id, was, values):
            raise Stale("this customer was changed by somebody else just now; read it again")
        self._connection.execute(delete(customer_parts).where(_parts_of(was.id)))
        self._index(shop_id, was.id, now.customer)

    def merge(self, shop_id: str, gone: CustomerRecord, into: str, at: datetime) -> None:
        """Make a customer lead to another one, with its quotes.

        Raises:
            Stale: somebody else has changed it.
        """
        values = {"merged_into": into, "document": b"{}", "updated_at": at}
        if not self._update(shop_id, gone, values):
            raise Stale("the other customer was changed by somebody else just now; read it again")
        self._connection.execute(delete(customer_parts).where(_parts_of(gone.id)))
        theirs = quote_customers.c.shop_id == shop_id, quote_customers.c.customer_id == gone.id
        self._connection.execute(update(quote_customers).where(*theirs).values(customer_id=into))

    def remove(self, shop_id: str, seen: CustomerRecord) -> None:
        """Erase a customer, and what was merged into it.

        Raises:
            Stale: somebody else has changed it.
        """
        links = quote_customers.c.shop_id == shop_id, quote_customers.c.customer_id == seen.id
        self._connection.execute(delete(quote_customers).where(*links))
        self._connection.execute(delete(customer_parts).where(_parts_of(seen.id)))
        led = customers.c.shop_id == shop_id, customers.c.merged_into == seen.id
        self._connection.execute(delete(customers).where(*led))
        mine = customers.c.shop_id == shop_id, customers.c.id == seen.id
        gone = delete(customers).where(*mine, customers.c.version == seen.version)
        if self._connection.execute(gone).rowcount != 1:
            raise Stale("this customer was changed by somebody else just now; read it again")

    def link(self, shop_id: str, quote_id: str, customer_id: str) -> None:
        """Note whose quote a quote is, in place of what was noted before."""
        self._connection.execute(
            delete(quote_customers).where(quote_customers.c.quote_id == quote_id)
        )
        row = {"quote_id": quote_id, "shop_id": shop_id, "customer_id": customer_id}
        self._connection.execute(insert(quote_customers), row)

    def quotes_of(self, shop_id: str, customer_id: str) -> tuple[QuoteHead, ...]:
        """Return the quotes of a customer, newest first."""
        theirs = select(quotes).join(quote_customers, quote_customers.c.quote_id == quotes.c.id)
        mine = quote_customers.c.shop_id == shop_id, quote_customers.c.customer_id == customer_id
        ordered = theirs.where(*mine).order_by(quotes.c.created_at.desc(), quotes.c.id.desc())
        return tuple(head_of(row) for row in self._connection.execute(ordered))

    def page(
        self, shop_id: str, sought: Iterable[str], limit: int, after: Cursor | None = None
    ) -> CustomerPage:
        """Return a page of the customers in whom all these parts are found, newest first."""
        statement = _found(shop_id, sought)
        rows, following = newest_first(self._connection, statement, customers, limit, after)
        return CustomerPage(tuple(_record(row) for row in rows), following)

    def _index(self, shop_id: str, customer_id: str, customer: Customer) -> None:
        parts = sorted(parts_of(customer.words()))
        rows = [{"shop_id": shop_id, "part": p, "customer_id": customer_id} for p in parts]
        if rows:
            self._connection.execute(insert(customer_parts), rows)

    def _update(self, shop_id: str, was: CustomerRecord, values: dict[str, Any]) -> bool:
        mine = customers.c.shop_id == shop_id, customers.c.id == was.id
        seen = customers.c.version == was.version, customers.c.merged_into.is_(None)
        change = update(customers).where(*mine, *seen)
        return (
            self._connection.execute(change.values({**values, "version": was.version + 1})).rowcount
            == 1
        )


_MOST_MERGES = 100


def _found(shop_id: str, sought: Iterable[str]) -> Select[Any]:
    statement = select(customers).where(
        customers.c.shop_id == shop_id, customers.c.merged_into.is_(None)
    )
    c = customer_parts.c
    for part in sought:
        ids = select(c.customer_id).where(
            c.shop_id == shop_id, c.part >= part, c.part < part + LAST
        )
        statement = statement.where(customers.c.id.in_(ids))
    return statement


def _parts_of(customer_id: str) -> Any:
    return customer_parts.c.customer_id == customer_id


def _changed(record: CustomerRecord) -> dict[str, Any]:
    return {
        "document": orjson.dumps(dump_customer(record.customer)),
        "updated_at": record.updated_at,
        "version": record.version,
    }


@kept_text()
def _record(row: Any) -> CustomerRecord:
    customer = read_customer(orjson.loads(row.document))
    return CustomerRecord(row.id, customer, row.created_at, row.updated_at, row.version)
