"""The table of requests that are done once: who holds one, and the answer it got."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, String, Table, Text

from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.types import Document, Instant

idempotent_requests = Table(
    "idempotent_requests",
    metadata,
    Column("key_id", ID, ForeignKey("api_keys.id"), primary_key=True),
    Column("name", Text, primary_key=True),
    Column("fingerprint", String(64), nullable=False),
    Column("claim", String(64), nullable=False),
    Column("claimed_at", Instant, nullable=False),
    Column("lapses_at", Instant, nullable=False),
    Column("expires_at", Instant, nullable=False),
    Column("status", Integer, nullable=True),
    Column("headers", Document, nullable=True),
    Column("body", Document, nullable=True),
    Index(None, "expires_at"),
)
