"""The life of quotes, and bench tickets.

Revision ID: 0002
Revises: 0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

ID = sa.String(36)
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")
ADDED = (
    ("version", sa.BigInteger(), "1"),
    ("deposit_minor", sa.BigInteger(), "0"),
    ("reason", sa.Text(), ""),
    ("offered_from", sa.Integer(), "1"),
)
"""Columns of quotes, each with what the quotes get that are there already."""
LAST_BEFORE_THE_FIRST = 10_000


def upgrade() -> None:
    with op.batch_alter_table("quotes") as batch:
        for name, kind, before in ADDED:
            batch.add_column(sa.Column(name, kind, nullable=False, server_default=before))
        batch.add_column(sa.Column("promised", sa.Date(), nullable=True))
    with op.batch_alter_table("quote_revisions") as batch:
        batch.add_column(sa.Column("choice", sa.Text(), nullable=False, server_default=""))
    with op.batch_alter_table("quotes") as batch:
        for name, _, _ in ADDED:
            batch.alter_column(name, server_default=None)
    with op.batch_alter_table("quote_revisions") as batch:
        batch.alter_column("choice", server_default=None)
    _tickets()
    op.execute(
        "INSERT INTO counters (shop_id, series, last_value) "  # noqa: S608 — a whole number  # nosec B608
        f"SELECT id, 'ticket', {LAST_BEFORE_THE_FIRST} FROM shops"
    )


def downgrade() -> None:
    op.execute("DELETE FROM counters WHERE series = 'ticket'")
    op.drop_table("ticket_pieces")
    op.drop_table("cut_tickets")
    with op.batch_alter_table("quote_revisions") as batch:
        batch.drop_column("choice")
    with op.batch_alter_table("quotes") as batch:
        for name in ("promised", *(name for name, _, _ in ADDED)):
            batch.drop_column(name)


def _tickets() -> None:
    op.create_table(
        "cut_tickets",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("serial", sa.BigInteger(), nullable=False),
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("jobs", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("minutes", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.Column("promised", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_cut_tickets_shops"),
        sa.ForeignKeyConstraint(["quote_id"], ["quotes.id"], name="fk_cut_tickets_quotes"),
        sa.PrimaryKeyConstraint("id", name="pk_cut_tickets"),
        sa.UniqueConstraint("shop_id", "serial", name="uq_cut_tickets_shop_id_serial"),
        sa.UniqueConstraint("quote_id", "job", name="uq_cut_tickets_quote_id_job"),
    )
    for columns in (
        ("shop_id", "created_at", "id"),
        ("shop_id", "status", "created_at", "id"),
        ("shop_id", "updated_at", "id"),
    ):
        op.create_index(f"ix_cut_tickets_{'_'.join(columns)}", "cut_tickets", list(columns))
    op.create_table(
        "ticket_pieces",
        sa.Column("ticket_id", ID, nullable=False),
        sa.Column("piece", sa.Integer(), nullable=False),
        sa.Column("cut_as", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("recut_of", sa.Integer(), nullable=True),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_ticket_pieces_some")),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["cut_tickets.id"], name="fk_ticket_pieces_cut_tickets"
        ),
        sa.PrimaryKeyConstraint("ticket_id", "piece", name="pk_ticket_pieces"),
    )
