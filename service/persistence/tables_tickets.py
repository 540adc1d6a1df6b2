"""The tables of bench tickets."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    Table,
    Text,
    UniqueConstraint,
)

from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.types import Document, Exact, Instant

cut_tickets = Table(
    "cut_tickets",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("serial", BigInteger, nullable=False),
    Column("quote_id", ID, ForeignKey("quotes.id"), nullable=False),
    Column("job", Integer, nullable=False),
    Column("jobs", Integer, nullable=False),
    Column("label", Text, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("minutes", Exact, nullable=False),
    Column("status", Text, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("document", Document, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("updated_at", Instant, nullable=False),
    Column("promised", Date, nullable=True),
    UniqueConstraint("shop_id", "serial"),
    UniqueConstraint("quote_id", "job"),
    Index(None, "shop_id", "created_at", "id"),
    Index(None, "shop_id", "status", "created_at", "id"),
    Index(None, "shop_id", "updated_at", "id"),
)

# Lots of pieces: `piece` counts them in each ticket, `cut_as` is the piece of the document that
# they are cut as.
ticket_pieces = Table(
    "ticket_pieces",
    metadata,
    Column("ticket_id", ID, ForeignKey("cut_tickets.id"), primary_key=True),
    Column("piece", Integer, primary_key=True),
    Column("cut_as", Integer, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("status", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("recut_of", Integer, nullable=True),
    CheckConstraint("quantity > 0", name="some"),
)
