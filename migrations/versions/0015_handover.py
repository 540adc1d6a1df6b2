"""Payments, and what happens to finished work: its place on the shelf, and its collection.

The defaults stay in the database, so that servers of the last release can still store tickets.

Revision ID: 0015
Revises: 0014
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

ID = sa.String(36)
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")
EMPTY = sa.text("''")


def upgrade() -> None:
    for name in ("shelf", "collected_by"):
        column = sa.Column(name, sa.Text(), nullable=False, server_default=EMPTY)
        op.add_column("cut_tickets", column)
    for name in ("ready_at", "collected_at"):
        op.add_column("cut_tickets", sa.Column(name, INSTANT, nullable=True))
    op.add_column("quotes", sa.Column("handover", sa.Text(), nullable=False, server_default=EMPTY))
    paid = sa.Column("paid_minor", sa.BigInteger(), nullable=False, server_default=sa.text("0"))
    op.add_column("quotes", paid)
    _payments()


def _payments() -> None:
    op.create_table(
        "payments",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("at", INSTANT, nullable=False),
        sa.Column("paid_by", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("amount_minor", sa.BigInteger(), nullable=False),
        sa.Column("rounding_minor", sa.BigInteger(), nullable=False),
        sa.Column("key_id", ID, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_payments_shops"),
        sa.ForeignKeyConstraint(["quote_id"], ["quotes.id"], name="fk_payments_quotes"),
        sa.PrimaryKeyConstraint("id", name="pk_payments"),
        sa.UniqueConstraint("quote_id", "reference", name="uq_payments_quote_id_reference"),
    )
    op.create_index("ix_payments_shop_id_at", "payments", ["shop_id", "at"])


def downgrade() -> None:
    op.drop_table("payments")
    with op.batch_alter_table("quotes") as batch:
        batch.drop_column("paid_minor")
        batch.drop_column("handover")
    with op.batch_alter_table("cut_tickets") as batch:
        for name in ("collected_at", "ready_at", "collected_by", "shelf"):
            batch.drop_column(name)
