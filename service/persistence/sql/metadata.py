"""The tables' metadata. Every record belongs to a shop; constraint names follow one convention.

Constraints are named from the first table on because SQLite can only change a constraint that has a
name (batch migrations).
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Column, ForeignKeyConstraint, MetaData, String, Table, Text

from service.persistence.sql.codec import SIZE, TEXT, TICKS, many

CONVENTION = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(referred_table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
}
metadata = MetaData(naming_convention=CONVENTION)

ID = String(36)
WORDS = many(TEXT)
STICKS = many(TICKS)
SHEETS = many(SIZE)


def column(name: str, kind: Any, *rest: Any, null: bool = False) -> Column[Any]:
    """Return a column that holds no NULL unless `null` is given."""
    return Column(name, kind, *rest, nullable=null)


def item_table(name: str, *columns: Column[Any]) -> Table:
    """Return a table of what one kind of item has beside its row in `items`."""
    return Table(
        name,
        metadata,
        Column("shop_id", ID, primary_key=True),
        Column("code", Text, primary_key=True),
        *columns,
        ForeignKeyConstraint(["shop_id", "code"], ["items.shop_id", "items.code"]),
    )
