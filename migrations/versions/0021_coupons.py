"""Coupons of a shop, and which accepted quotes use them.

Revision ID: 0021
Revises: 0020
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

ID = sa.String(36)
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")


def upgrade() -> None:
    op.create_table(
        "coupons",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("uses", sa.BigInteger(), nullable=False),
        sa.Column("most_uses", sa.BigInteger(), nullable=True),
        sa.Column("stopped_at", INSTANT, nullable=True),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_coupons"),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_coupons_shops"),
    )
    op.create_index(
        "ix_coupons_shop_id_created_at_code", "coupons", ["shop_id", "created_at", "code"]
    )
    op.create_table(
        "coupon_uses",
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("used_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("quote_id", name="pk_coupon_uses"),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quotes.id"], name="fk_coupon_uses_quotes", ondelete="CASCADE"
        ),
    )
    op.create_index("ix_coupon_uses_shop_id_code", "coupon_uses", ["shop_id", "code"])


def downgrade() -> None:
    op.drop_table("coupon_uses")
    op.drop_table("coupons")
