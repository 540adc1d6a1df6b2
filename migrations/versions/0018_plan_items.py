"""What committed cutting plans make of each item's stock.

Plans that were committed before have no rows.

Revision ID: 0018
Revises: 0017
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

ID = sa.String(36)
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")


def upgrade() -> None:
    op.create_table(
        "plan_items",
        sa.Column("plan_id", ID, nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("kind", sa.String(5), nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("committed_at", INSTANT, nullable=False),
        sa.Column("undone_at", INSTANT, nullable=True),
        sa.Column("new_stock", sa.BigInteger(), nullable=False),
        sa.Column("racked", sa.BigInteger(), nullable=False),
        sa.Column("taken", sa.Text(), nullable=False),
        sa.Column("made", sa.Text(), nullable=False),
        sa.Column("kept", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_plan_items_shops"),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["cutting_plans.id"], name="fk_plan_items_cutting_plans"
        ),
        sa.PrimaryKeyConstraint("plan_id", "item", "kind", name="pk_plan_items"),
    )
    op.create_index("ix_plan_items_shop_id_committed_at", "plan_items", ["shop_id", "committed_at"])


def downgrade() -> None:
    op.drop_table("plan_items")
