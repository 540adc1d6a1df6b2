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
    _webhooks()


def downgrade() -> None:
    for table in (
        "webhook_attempts",
        "webhook_messages",
        "webhook_endpoints",
        "rate_buckets",
        "idempotent_requests",
        "event_eras",
        "events",
    ):
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


def _webhooks() -> None:
    op.create_table(
        "webhook_endpoints",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("kinds", DOCUMENT, nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("generation", sa.Integer(), nullable=False),
        sa.Column("former_until", INSTANT, nullable=True),
        sa.Column("turn", sa.BigInteger(), nullable=False),
        sa.Column("event_id", sa.BigInteger(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.CheckConstraint(
            "state IN ('active', 'paused', 'gone')", name=op.f("ck_webhook_endpoints_state")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_webhook_endpoints_shops"),
        sa.PrimaryKeyConstraint("id", name="pk_webhook_endpoints"),
    )
    op.create_index(
        "ix_webhook_endpoints_shop_id_created_at", "webhook_endpoints", ["shop_id", "created_at"]
    )
    op.create_table(
        "webhook_messages",
        sa.Column("id", ID, nullable=False),
        sa.Column("endpoint_id", ID, nullable=False),
        sa.Column("event_id", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("body", DOCUMENT, nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("retries", sa.Integer(), nullable=False),
        sa.Column("due_at", INSTANT, nullable=True),
        sa.Column("delivered_at", INSTANT, nullable=True),
        sa.CheckConstraint(
            "state IN ('pending', 'delivered', 'failed')", name=op.f("ck_webhook_messages_state")
        ),
        sa.ForeignKeyConstraint(
            ["endpoint_id"],
            ["webhook_endpoints.id"],
            name="fk_webhook_messages_webhook_endpoints",
        ),
        sa.PrimaryKeyConstraint("id", name="pk_webhook_messages"),
        sa.UniqueConstraint(
            "endpoint_id", "event_id", name="uq_webhook_messages_endpoint_id_event_id"
        ),
    )
    _webhook_log()


def _webhook_log() -> None:
    for columns in (["endpoint_id", "state", "due_at"], ["endpoint_id", "id"], ["created_at"]):
        name = f"ix_webhook_messages_{'_'.join(columns)}"
        op.create_index(name, "webhook_messages", columns)
    op.create_table(
        "webhook_attempts",
        sa.Column("message_id", ID, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", INSTANT, nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("error", sa.Text(), nullable=False),
        sa.Column("milliseconds", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["message_id"],
            ["webhook_messages.id"],
            name="fk_webhook_attempts_webhook_messages",
        ),
        sa.PrimaryKeyConstraint("message_id", "number", name="pk_webhook_attempts"),
    )
