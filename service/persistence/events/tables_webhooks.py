"""The tables of webhooks: where events are sent, what is to be sent, and what came of it."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    Table,
    Text,
    UniqueConstraint,
)

from service.persistence.sql.metadata import ID, WORDS, metadata
from service.persistence.sql.types import Document, Instant, Written

webhook_endpoints = Table(
    "webhook_endpoints",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("url", Text, nullable=False),
    Column("kinds", Written(WORDS), nullable=False),
    Column("description", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("generation", Integer, nullable=False),
    Column("former_until", Instant, nullable=True),
    Column("turn", BigInteger, nullable=False),
    Column("event_id", BigInteger, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("version", BigInteger, nullable=False),
    CheckConstraint("state IN ('active', 'paused', 'gone')", name="state"),
    Index(None, "shop_id", "created_at"),
)

webhook_messages = Table(
    "webhook_messages",
    metadata,
    Column("id", ID, primary_key=True),
    Column("endpoint_id", ID, ForeignKey("webhook_endpoints.id"), nullable=False),
    Column("event_id", BigInteger, nullable=False),
    Column("kind", Text, nullable=False),
    Column("body", Document, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("state", Text, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("retries", Integer, nullable=False),
    Column("due_at", Instant, nullable=True),
    Column("delivered_at", Instant, nullable=True),
    UniqueConstraint("endpoint_id", "event_id"),
    CheckConstraint("state IN ('pending', 'delivered', 'failed')", name="state"),
    Index(None, "endpoint_id", "state", "due_at"),
    Index(None, "endpoint_id", "id"),
    Index(None, "created_at"),
)

webhook_attempts = Table(
    "webhook_attempts",
    metadata,
    Column("message_id", ID, ForeignKey("webhook_messages.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", Instant, nullable=False),
    Column("status", Integer, nullable=True),
    Column("error", Text, nullable=False),
    Column("milliseconds", Integer, nullable=False),
)
