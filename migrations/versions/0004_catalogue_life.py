"""The life of catalogues and price lists: versions, what is searched, what an hour is made of.

Revision ID: 0004
Revises: 0003
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any

import sqlalchemy as sa
from alembic import op
from alembic.operations.base import BatchOperations
from sqlalchemy.dialects import postgresql

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

DOCUMENT = sa.Text()
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")
BEFORE = "2026-01-01T00:00:00.000000Z"
"""When rows that are there already are taken to have changed last."""

ADDED: dict[str, tuple[tuple[str, Any, str | None], ...]] = {
    "shops": (("settings_version", sa.BigInteger(), "1"),),
    "items": (
        ("words", sa.Text(), ""),
        ("version", sa.BigInteger(), "1"),
        ("costs_version", sa.BigInteger(), "1"),
        ("updated_at", INSTANT, BEFORE),
    ),
    "price_lists": (("version", sa.BigInteger(), "1"),),
    "labour_standards": (
        ("hour", sa.Text(), None),
        ("multipliers", sa.Text(), "[]"),
        ("version", sa.BigInteger(), "1"),
    ),
}
"""Columns by table, each with what the rows get that are there already (None: nothing)."""


def upgrade() -> None:
    for table, columns in ADDED.items():
        with op.batch_alter_table(table) as batch:
            for name, kind, default in columns:
                null = default is None
                batch.add_column(sa.Column(name, kind, nullable=null, server_default=default))
    _fill_words()
    for table, columns in ADDED.items():
        with _batch(table) as batch:
            for name, _, default in columns:
                if default is not None:
                    batch.alter_column(name, server_default=None)
    op.create_index("ix_items_shop_id_kind_code", "items", ["shop_id", "kind", "code"])
    op.create_index("ix_items_shop_id_kind_updated_at", "items", ["shop_id", "kind", "updated_at"])


def downgrade() -> None:
    op.drop_index("ix_items_shop_id_kind_updated_at", "items")
    op.drop_index("ix_items_shop_id_kind_code", "items")
    for table, columns in ADDED.items():
        with _batch(table) as batch:
            for name, _, _ in columns:
                batch.drop_column(name)


def _batch(table: str) -> AbstractContextManager[BatchOperations]:
    """SQLite copies the table here, and does not read its checks back: they are told anew."""
    kinds = sa.CheckConstraint(
        "kind IN ('moulding', 'board', 'glazing', 'fillet', 'hardware', 'supply')",
        name=op.f("ck_items_kind"),
    )
    return op.batch_alter_table(table, table_args=(kinds,) if table == "items" else ())


def _fill_words() -> None:
    """Fold case here and not in SQL, where databases differ over letters beyond ASCII."""
    items = sa.table(
        "items", *(sa.column(name) for name in ("shop_id", "code", "description", "words"))
    )
    connection = op.get_bind()
    known = connection.execute(sa.select(items.c.shop_id, items.c.code, items.c.description)).all()
    fill = (
        sa.update(items)
        .where(items.c.shop_id == sa.bindparam("shop"), items.c.code == sa.bindparam("item"))
        .values(words=sa.bindparam("folded"))
    )
    rows = [
        {
            "shop": row.shop_id,
            "item": row.code,
            "folded": f"{row.code} {row.description}".casefold(),
        }
        for row in known
    ]
    if rows:
        connection.execute(fill, rows)
