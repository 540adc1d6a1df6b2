"""The table of events: one row per change, for the change feed and the audit.

Events are ordered by `turn`, then `id`. In PostgreSQL a trigger sets both: the turn of the current
era (see `eras.py`) and the next number. Until level 0009 `turn` was the transaction's number. In
SQLite it is 0.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, Column, ForeignKey, Index, Integer, Table, Text

from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.types import Document, Instant

events = Table(
    "events",
    metadata,
    Column("id", BigInteger().with_variant(Integer, "sqlite"), primary_key=True),
    Column("turn", BigInteger, nullable=False),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("key_id", Text, nullable=False),
    Column("at", Instant, nullable=False),
    Column("kind", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("subject_id", Text, nullable=False),
    Column("before", Document, nullable=True),
    Column("after", Document, nullable=True),
    Index(None, "shop_id", "turn", "id"),
    Index(None, "shop_id", "subject_id", "turn", "id"),
    sqlite_autoincrement=True,  # ids are never reused
)

# A row is added whenever the data are found in a different server run: see `eras.py`.
event_eras = Table(
    "event_eras",
    metadata,
    Column("era", Integer, primary_key=True, autoincrement=False),
    Column("begun_at", Instant, nullable=False),
    Column("turn", BigInteger, nullable=False),
    Column("run", Text, nullable=False),
)
