"""The tables of facts that reports add up: narrow rows, written when something happens.

They repeat what the documents of quotes hold, so that a report never opens a document. A draft or
an issued quote has none: only accepting one writes them.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    String,
    Table,
    Text,
)

from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.types import Instant, Ticks

# `cost_minor` is in `cost_currency`, the shop's own; null where a material's cost is not known.
sales = Table(
    "sales",
    metadata,
    Column("quote_id", ID, ForeignKey("quotes.id"), primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("accepted_at", Instant, nullable=False),
    Column("withdrawn_at", Instant, nullable=True),
    Column("currency", String(3), nullable=False),
    Column("total_minor", BigInteger, nullable=False),
    Column("tax_minor", BigInteger, nullable=False),
    Column("cost_minor", BigInteger, nullable=True),
    Column("cost_currency", String(3), nullable=False),
    Index(None, "shop_id", "accepted_at"),
)

sale_parts = Table(
    "sale_parts",
    metadata,
    Column("quote_id", ID, ForeignKey("sales.quote_id"), primary_key=True),
    Column("component", Text, primary_key=True),
    Column("item", Text, primary_key=True),
    Column("net_minor", BigInteger, nullable=False),
)

sale_materials = Table(
    "sale_materials",
    metadata,
    Column("quote_id", ID, ForeignKey("sales.quote_id"), primary_key=True),
    Column("item", Text, primary_key=True),
    Column("basis", Text, primary_key=True),
    Column("millionths", BigInteger, nullable=False),
)

# `height` is 0 for a rail.
spoilages = Table(
    "spoilages",
    metadata,
    Column("ticket_id", ID, ForeignKey("cut_tickets.id"), primary_key=True),
    Column("piece", Integer, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("at", Instant, nullable=False),
    Column("item", Text, nullable=False),
    Column("part", Text, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("width", Ticks, nullable=False),
    Column("height", Ticks, nullable=False),
    Column("cost_minor", BigInteger, nullable=True),
    Column("currency", String(3), nullable=False),
    Column("reason", Text, nullable=False),
    CheckConstraint("quantity > 0", name="some"),
    Index(None, "shop_id", "at"),
)
