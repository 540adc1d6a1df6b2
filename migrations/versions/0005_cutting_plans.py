"""Cutting plans, stock and the offcut rack.

Revision ID: 0005
Revises: 0004
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

ID = sa.String(36)
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")
SERIES = "'plan', 'offcut'"


def upgrade() -> None:
    _plans()
    _lots()
    _offcuts()
    op.create_table(
        "stock_levels",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.CheckConstraint("quantity >= 0", name=op.f("ck_stock_levels_no_debt")),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_stock_levels_shops"),
        sa.PrimaryKeyConstraint("shop_id", "item", "width", "height", name="pk_stock_levels"),
    )


def downgrade() -> None:
    for table in ("stock_levels", "offcuts", "cutting_plan_lots", "cutting_plans"):
        op.drop_table(table)
    op.execute(f"DELETE FROM counters WHERE series IN ({SERIES})")  # noqa: S608 — fixed words  # nosec B608


def _plans() -> None:
    op.create_table(
        "cutting_plans",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("serial", sa.BigInteger(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("pieces", sa.BigInteger(), nullable=False),
        sa.Column("done", sa.BigInteger(), nullable=False),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("failure", sa.Text(), nullable=False),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("costs", sa.Text(), nullable=False),
        sa.Column("effects", sa.Text(), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.Column("beat_at", INSTANT, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_cutting_plans_shops"),
        sa.PrimaryKeyConstraint("id", name="pk_cutting_plans"),
        sa.UniqueConstraint("shop_id", "serial", name="uq_cutting_plans_shop_id_serial"),
    )
    for columns in (
        ("shop_id", "created_at", "id"),
        ("shop_id", "status", "created_at", "id"),
        ("status", "beat_at"),
    ):
        op.create_index(f"ix_cutting_plans_{'_'.join(columns)}", "cutting_plans", list(columns))


def _lots() -> None:
    op.create_table(
        "cutting_plan_lots",
        sa.Column("plan_id", ID, nullable=False),
        sa.Column("ticket_id", ID, nullable=False),
        sa.Column("piece", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_cutting_plan_lots_some")),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["cutting_plans.id"], name="fk_cutting_plan_lots_cutting_plans"
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["cut_tickets.id"], name="fk_cutting_plan_lots_cut_tickets"
        ),
        sa.PrimaryKeyConstraint("plan_id", "ticket_id", "piece", name="pk_cutting_plan_lots"),
    )
    op.create_index("ix_cutting_plan_lots_ticket_id", "cutting_plan_lots", ["ticket_id"])


def _offcuts() -> None:
    op.create_table(
        "offcuts",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("serial", sa.BigInteger(), nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("cut_by", ID, nullable=True),
        sa.Column("used_by", ID, nullable=True),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_offcuts_shops"),
        sa.ForeignKeyConstraint(
            ["cut_by"], ["cutting_plans.id"], name="fk_offcuts_cut_by_cutting_plans"
        ),
        sa.ForeignKeyConstraint(
            ["used_by"], ["cutting_plans.id"], name="fk_offcuts_used_by_cutting_plans"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_offcuts"),
        sa.UniqueConstraint("shop_id", "serial", name="uq_offcuts_shop_id_serial"),
    )
    for columns in (("shop_id", "status", "item"), ("cut_by",), ("used_by",)):
        op.create_index(f"ix_offcuts_{'_'.join(columns)}", "offcuts", list(columns))
