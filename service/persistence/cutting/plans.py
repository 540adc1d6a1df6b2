"""The tables of cutting plans, of the offcut rack and of stock."""

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

from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.types import Document, Instant, Ticks

cutting_plans = Table(
    "cutting_plans",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("serial", BigInteger, nullable=False),
    Column("reference", Text, nullable=False),
    Column("status", Text, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("pieces", BigInteger, nullable=False),
    Column("done", BigInteger, nullable=False),
    Column("total", BigInteger, nullable=False),
    Column("failure", Text, nullable=False),
    Column("request", Document, nullable=False),
    Column("document", Document, nullable=False),
    Column("costs", Document, nullable=False),
    Column("effects", Document, nullable=False),
    Column("created_by", Text, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("updated_at", Instant, nullable=False),
    Column("beat_at", Instant, nullable=False),
    UniqueConstraint("shop_id", "serial"),
    Index(None, "shop_id", "created_at", "id"),
    Index(None, "shop_id", "status", "created_at", "id"),
    Index(None, "status", "beat_at"),
)

# Which lots of which tickets a committed plan cuts, so that no two plans cut the same one.
cutting_plan_lots = Table(
    "cutting_plan_lots",
    metadata,
    Column("plan_id", ID, ForeignKey("cutting_plans.id"), primary_key=True),
    Column("ticket_id", ID, ForeignKey("cut_tickets.id"), primary_key=True),
    Column("piece", Integer, primary_key=True),
    Column("quantity", BigInteger, nullable=False),
    CheckConstraint("quantity > 0", name="some"),
    Index(None, "ticket_id"),
)

# `height` is 0 for a stick. `cut_by` is the plan that booked it, `used_by` the plan that took it.
offcuts = Table(
    "offcuts",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("serial", BigInteger, nullable=False),
    Column("item", Text, nullable=False),
    Column("width", Ticks, nullable=False),
    Column("height", Ticks, nullable=False),
    Column("status", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("cut_by", ID, ForeignKey("cutting_plans.id", name="fk_offcuts_cut_by_cutting_plans")),
    Column("used_by", ID, ForeignKey("cutting_plans.id", name="fk_offcuts_used_by_cutting_plans")),
    Column("version", BigInteger, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("updated_at", Instant, nullable=False),
    UniqueConstraint("shop_id", "serial"),
    Index(None, "shop_id", "status", "item"),
    Index(None, "cut_by"),
    Index(None, "used_by"),
)

stock_levels = Table(
    "stock_levels",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("item", Text, primary_key=True),
    Column("width", Ticks, primary_key=True),
    Column("height", Ticks, primary_key=True),
    Column("quantity", BigInteger, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("updated_at", Instant, nullable=False),
    CheckConstraint("quantity >= 0", name="no_debt"),
)
