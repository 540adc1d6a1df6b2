"""Idempotent requests, the change feed and webhooks.

Revision ID: 0003
Revises: 0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

ID = sa.String(36)
DOCUMENT = sa.Text()
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")
ROW_NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    _keys()
    _events()
    _idempotency()
    _rates()


def downgrade() -> None:
    for table in ("rate_buckets", "idempotent_requests", "event_eras", "events"):
        op.drop_table(table)
    with op.batch_alter_table("api_keys") as keys:
        for column in ("version", "per_minute", "origins"):
            keys.drop_column(column)


def _keys() -> None:
    with op.batch_alter_table("api_keys") as keys:
        keys.add_column(sa.Column("origins", sa.Text(), nullable=False, server_default="[]"))
        keys.add_column(sa.Column("per_minute", sa.BigInteger(), nullable=True))
        keys.add_column(sa.Column("version", sa.BigInteger(), nullable=False, server_default="1"))
    with op.batch_alter_table("api_keys") as keys:  # the defaults were for keys there already
        keys.alter_column("origins", existing_type=sa.Text(), server_default=None)
        keys.alter_column("version", existing_type=sa.BigInteger(), server_default=None)


def _events() -> None:
    op.create_table(
        "events",
        sa.Column("id", ROW_NUMBER, nullable=False),
        sa.Column("turn", sa.BigInteger(), nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("key_id", sa.Text(), nullable=False),
        sa.Column("at", INSTANT, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("subject_id", sa.Text(), nullable=False),
        sa.Column("before", DOCUMENT, nullable=True),
        sa.Column("after", DOCUMENT, nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_events_shops"),
        sa.PrimaryKeyConstraint("id", name="pk_events"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_events_shop_id_turn_id", "events", ["shop_id", "turn", "id"])
    op.create_index(
        "ix_events_shop_id_subject_id_turn_id", "events", ["shop_id", "subject_id", "turn", "id"]
    )
    op.create_table(
        "event_eras",
        sa.Column("era", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("begun_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("era", name="pk_event_eras"),
    )


def _idempotency() -> None:
    op.create_table(
        "idempotent_requests",
        sa.Column("key_id", ID, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("claim", sa.String(64), nullable=False),
        sa.Column("claimed_at", INSTANT, nullable=False),
        sa.Column("lapses_at", INSTANT, nullable=False),
        sa.Column("expires_at", INSTANT, nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("headers", DOCUMENT, nullable=True),
        sa.Column("body", DOCUMENT, nullable=True),
        sa.ForeignKeyConstraint(
            ["key_id"], ["api_keys.id"], name="fk_idempotent_requests_api_keys"
        ),
        sa.PrimaryKeyConstraint("key_id", "name", name="pk_idempotent_requests"),
    )
    op.create_index("ix_idempotent_requests_expires_at", "idempotent_requests", ["expires_at"])


def _rates() -> None:
    # Written with every request where several nodes count together, and of no worth after a crash.
    unlogged = ["UNLOGGED"] if op.get_bind().dialect.name == "postgresql" else []
    op.create_table(
        "rate_buckets",
        sa.Column("key_id", ID, nullable=False),
        sa.Column("full_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("key_id", name="pk_rate_buckets"),
        prefixes=unlogged,
    )
