"""Facts that reports add up.

Revision ID: 0007
Revises: 0006
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

ID = sa.String(36)
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")


def upgrade() -> None:
    _sales()
    _of_sales()
    _spoilages()
    op.create_index("ix_sales_shop_id_accepted_at", "sales", ["shop_id", "accepted_at"])
    op.create_index("ix_spoilages_shop_id_at", "spoilages", ["shop_id", "at"])


def downgrade() -> None:
    for table in ("spoilages", "sale_materials", "sale_parts", "sales"):
        op.drop_table(table)


def _sales() -> None:
    op.create_table(
        "sales",
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("accepted_at", INSTANT, nullable=False),
        sa.Column("withdrawn_at", INSTANT, nullable=True),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("total_minor", sa.BigInteger(), nullable=False),
        sa.Column("tax_minor", sa.BigInteger(), nullable=False),
        sa.Column("cost_minor", sa.BigInteger(), nullable=True),
        sa.Column("cost_currency", sa.String(3), nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["quotes.id"], name="fk_sales_quotes"),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_sales_shops"),
        sa.PrimaryKeyConstraint("quote_id", name="pk_sales"),
    )


def _of_sales() -> None:
    op.create_table(
        "sale_parts",
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("component", sa.Text(), nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("net_minor", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["sales.quote_id"], name="fk_sale_parts_sales"),
        sa.PrimaryKeyConstraint("quote_id", "component", "item", name="pk_sale_parts"),
    )
    op.create_table(
        "sale_materials",
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("millionths", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["sales.quote_id"], name="fk_sale_materials_sales"),
        sa.PrimaryKeyConstraint("quote_id", "item", "basis", name="pk_sale_materials"),
    )


def _spoilages() -> None:
    op.create_table(
        "spoilages",
        sa.Column("ticket_id", ID, nullable=False),
        sa.Column("piece", sa.Integer(), nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("at", INSTANT, nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("cost_minor", sa.BigInteger(), nullable=True),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_spoilages_some")),
        sa.ForeignKeyConstraint(["ticket_id"], ["cut_tickets.id"], name="fk_spoilages_cut_tickets"),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_spoilages_shops"),
        sa.PrimaryKeyConstraint("ticket_id", "piece", name="pk_spoilages"),
    )
