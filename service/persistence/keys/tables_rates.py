"""The table in which several nodes count a key's requests together."""

from __future__ import annotations

from sqlalchemy import BigInteger, Column, Table

from service.persistence.sql.metadata import ID, metadata

# No reference to the keys, and not logged in PostgreSQL: it is written with every request, and
# losing it in a crash gives every caller a full allowance and no more.
rate_buckets = Table(
    "rate_buckets",
    metadata,
    Column("key_id", ID, primary_key=True),
    Column("full_at", BigInteger, nullable=False),
)
