"""Customers of a shop, the parts of words that they are found by, and whose quote a quote is.

Revision ID: 0017
Revises: 0016
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

ID = sa.String(36)
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")
PART = sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "customers",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("merged_into", ID, nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_customers"),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_customers_shops"),
    )
    op.create_index(
        "ix_customers_shop_id_created_at_id", "customers", ["shop_id", "created_at", "id"]
    )
    op.create_table(
        "customer_parts",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("part", PART, nullable=False),
        sa.Column("customer_id", ID, nullable=False),
        sa.PrimaryKeyConstraint("shop_id", "part", "customer_id", name="pk_customer_parts"),
        sa.ForeignKeyConstraint(
            ["customer_id"], ["customers.id"], name="fk_customer_parts_customers"
        ),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_customer_parts_customer_id", "customer_parts", ["customer_id"])
    op.create_table(
        "quote_customers",
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("customer_id", ID, nullable=False),
        sa.PrimaryKeyConstraint("quote_id", name="pk_quote_customers"),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quotes.id"], name="fk_quote_customers_quotes", ondelete="CASCADE"
        ),
    )
    op.create_index(
        "ix_quote_customers_shop_id_customer_id", "quote_customers", ["shop_id", "customer_id"]
    )


def downgrade() -> None:
    op.drop_table("quote_customers")
    op.drop_table("customer_parts")
    op.drop_table("customers")
