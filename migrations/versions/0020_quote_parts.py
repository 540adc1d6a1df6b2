"""The parts of words that quotes are found by; those of stored quotes are filled in afterwards.

Revision ID: 0020
Revises: 0019
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

ID = sa.String(36)
PART = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "quote_parts",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("part", PART, nullable=False),
        sa.Column("quote_id", ID, nullable=False),
        sa.PrimaryKeyConstraint("shop_id", "part", "quote_id", name="pk_quote_parts"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_quote_parts_quote_id", "quote_parts", ["quote_id"])


def downgrade() -> None:
    op.drop_table("quote_parts")
