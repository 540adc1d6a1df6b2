"""The parts of words that stored quotes are found by, kept as those of customers are.

There is no foreign key: PostgreSQL would look the quote up for each of some thirty rows of a new
quote. Rows go with their quote in `retention`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Index,
    Select,
    Table,
    Text,
    delete,
    insert,
    select,
)
from sqlalchemy.dialects import postgresql

from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.types import LAST, PART

quote_parts = Table(
    "quote_parts",
    metadata,
    Column("shop_id", ID, primary_key=True),
    Column("part", PART, primary_key=True),
    Column("quote_id", ID, primary_key=True),
    Index(None, "quote_id"),
    sqlite_with_rowid=False,
)
PARTS = postgresql.ARRAY(Text)
"""The parts of one quote as one parameter, in PostgreSQL."""


def keep_parts(connection: Connection, shop_id: str, quote_id: str, parts: Iterable[str]) -> None:
    """Store the parts of a quote that has none."""
    rows = [{"shop_id": shop_id, "part": part, "quote_id": quote_id} for part in parts]
    connection.execute(insert(quote_parts), rows)


def drop_parts(connection: Connection, quote_ids: Sequence[str]) -> None:
    """Erase the parts of these quotes."""
    if quote_ids:
        connection.execute(delete(quote_parts).where(quote_parts.c.quote_id.in_(quote_ids)))


def having(shop_id: str, part: str, quote_id: ColumnElement[str]) -> ColumnElement[bool]:
    """Return the condition that a quote has a word with this part."""
    c = quote_parts.c
    ids: Select[tuple[str]] = select(c.quote_id).where(
        c.shop_id == shop_id, c.part >= part, c.part < part + LAST
    )
    return quote_id.in_(ids)
