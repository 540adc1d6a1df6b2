"""The tables. Every record belongs to a shop; names of constraints follow one convention.

The convention is there from the first table on because SQLite can only change a constraint that
has a name (batch migrations).
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from service.persistence.sql.codec import SIZE, TEXT, TICKS, many
from service.persistence.sql.types import Document, Exact, Instant, Packed, Ticks, Written

CONVENTION = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(referred_table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
}
metadata = MetaData(naming_convention=CONVENTION)

ID = String(36)
WORDS = many(TEXT)
STICKS = many(TICKS)
SHEETS = many(SIZE)


def _column(name: str, kind: Any, *rest: Any, null: bool = False) -> Column[Any]:
    return Column(name, kind, *rest, nullable=null)


shops = Table(
    "shops",
    metadata,
    Column("id", ID, primary_key=True),
    _column("code", Text),
    _column("name", Text),
    _column("settings", Document),
    _column("version", BigInteger),
    _column("labour_standard", Text, null=True),
    _column("settings_version", BigInteger),
    UniqueConstraint("code"),
)

# Apart from `shops`, so that the row which every new quote changes is a narrow one, and so that
# further series (bench tickets) are rows and not columns. `stamped_at` is the instant of the last
# change of what the series numbers.
counters = Table(
    "counters",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("series", Text, primary_key=True),
    _column("last_value", BigInteger),
    _column("stamped_at", Instant, null=True),
)

api_keys = Table(
    "api_keys",
    metadata,
    Column("id", ID, primary_key=True),
    _column("shop_id", ID, ForeignKey("shops.id")),
    _column("name", Text),
    _column("secret_hash", String(64)),
    _column("scopes", Written(WORDS)),
    _column("created_at", Instant),
    _column("expires_at", Instant, null=True),
    _column("revoked_at", Instant, null=True),
    _column("last_used_at", Instant, null=True),
    _column("origins", Written(WORDS)),
    _column("per_minute", BigInteger, null=True),
    _column("version", BigInteger),
    Index(None, "shop_id", "created_at"),
)

# What all items share, so that a code names one thing in a shop whatever its kind.
items = Table(
    "items",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    _column("kind", Text),
    _column("description", Text),
    _column("price_group", Text),
    _column("discontinued", Boolean),
    _column("words", Text),  # code and description without regard to case, to be searched
    _column("version", BigInteger),
    _column("costs_version", BigInteger),
    _column("updated_at", Instant),
    Index(None, "shop_id", "kind", "code"),
    Index(None, "shop_id", "kind", "updated_at"),
    CheckConstraint(
        "kind IN ('moulding', 'board', 'glazing', 'fillet', 'hardware', 'supply')", name="kind"
    ),
)


def _item_table(name: str, *columns: Column[Any]) -> Table:
    return Table(
        name,
        metadata,
        Column("shop_id", ID, primary_key=True),
        Column("code", Text, primary_key=True),
        *columns,
        ForeignKeyConstraint(["shop_id", "code"], ["items.shop_id", "items.code"]),
    )


mouldings = _item_table(
    "mouldings",
    _column("face_width", Ticks),
    _column("rabbet_width", Ticks),
    _column("rabbet_depth", Ticks),
    _column("stick_lengths", Written(STICKS)),
    _column("weight_kg_per_m", Exact),
    _column("supplies", Written(WORDS)),
    _column("material", Text),
    _column("colour", Text),
    _column("pattern_runs", Boolean),
    _column("floater", Boolean),
)

boards = _item_table(
    "boards",
    _column("thickness", Ticks),
    _column("sheets", Written(SHEETS)),
    _column("weight_kg_per_m2", Exact),
    _column("uses", Written(WORDS)),
    _column("ply", Integer, null=True),
    _column("grade", Integer),
    _column("colour", Text),
    _column("grain", Boolean),
    _column("cut_by", Text),
    _column("edge_trim", Ticks),
)

glazing = _item_table(
    "glazing",
    _column("kind", Text),
    _column("thickness", Ticks),
    _column("sheets", Written(SHEETS)),
    _column("uv_percent", Exact, null=True),
    _column("uv_range", Text),
    _column("finish", Text),
    _column("density_kg_per_m3", Exact),
    _column("grain", Boolean),
    _column("cut_by", Text),
    _column("edge_trim", Ticks),
)

fillets = _item_table(
    "fillets",
    _column("width", Ticks),
    _column("depth", Ticks),
    _column("stick_lengths", Written(STICKS)),
    _column("weight_kg_per_m", Exact),
)

hardware = _item_table(
    "hardware",
    _column("role", Text),
    _column("rating_kg", Exact),
)

supplies = _item_table(
    "supplies",
    _column("thickness", Ticks),
    _column("grade", Integer),
)

item_costs = Table(
    "item_costs",
    metadata,
    Column("shop_id", ID, primary_key=True),
    Column("item", Text, primary_key=True),
    Column("position", Integer, primary_key=True),
    _column("basis", Text),
    _column("cost", Exact),
    _column("sheet_width", Ticks, null=True),
    _column("sheet_height", Ticks, null=True),
    ForeignKeyConstraint(["shop_id", "item"], ["items.shop_id", "items.code"]),
    CheckConstraint("(sheet_width IS NULL) = (sheet_height IS NULL)", name="sheet_whole"),
)

price_lists = Table(
    "price_lists",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    _column("currency", String(3)),
    _column("first_day", Date),
    _column("published_at", Instant, null=True),
    _column("rules", Text),
    _column("breaks", Text),
    _column("version", BigInteger),
)

labour_standards = Table(
    "labour_standards",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    _column("cost_per_hour", Exact),
    _column("operations", Text),
    _column("hour", Text, null=True),
    _column("multipliers", Text),
    _column("version", BigInteger),
)

quotes = Table(
    "quotes",
    metadata,
    Column("id", ID, primary_key=True),
    _column("shop_id", ID, ForeignKey("shops.id")),
    _column("serial", BigInteger),
    _column("status", Text),
    _column("revision", Integer),
    _column("reference", Text),
    _column("customer", Document),
    _column("currency", String(3)),
    _column("total_minor", BigInteger),
    _column("created_at", Instant),
    _column("updated_at", Instant),
    _column("valid_until", Date),
    _column("created_by", ID),
    _column("version", BigInteger),
    _column("deposit_minor", BigInteger),
    _column("promised", Date, null=True),
    _column("reason", Text),
    _column("offered_from", Integer),
    UniqueConstraint("shop_id", "serial"),
    Index(None, "shop_id", "created_at", "id"),
    Index(None, "shop_id", "status", "created_at", "id"),
    Index(None, "shop_id", "updated_at", "id"),
    Index(None, "shop_id", "reference", "created_at", "id"),
)

papers = Table(
    "papers",
    metadata,
    Column("digest", String(64), primary_key=True),
    _column("document", Document),
)

quote_revisions = Table(
    "quote_revisions",
    metadata,
    Column("quote_id", ID, ForeignKey("quotes.id"), primary_key=True),
    Column("revision", Integer, primary_key=True),
    _column("request", Document),
    _column("result", Packed),
    _column("papers", Text),
    _column("costs", Packed),
    _column("created_at", Instant),
    _column("choice", Text),
)
