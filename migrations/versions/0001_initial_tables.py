"""The first tables: shops and keys, catalogue, prices and times, quotes.

Types are spelled out here and not taken from the service, whose tables move on.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

ID = sa.String(36)
TICKS = sa.BigInteger()
EXACT = sa.Text()
DOCUMENT = sa.Text()
INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")


def upgrade() -> None:
    _shops()
    _catalogue()
    _small_items()
    _prices()
    _quotes()


def downgrade() -> None:
    for table in (
        "quote_revisions",
        "papers",
        "quotes",
        "labour_standards",
        "price_lists",
        "item_costs",
        "supplies",
        "hardware",
        "fillets",
        "glazing",
        "boards",
        "mouldings",
        "items",
        "api_keys",
        "counters",
        "shops",
    ):
        op.drop_table(table)


def _shops() -> None:
    op.create_table(
        "shops",
        sa.Column("id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("settings", DOCUMENT, nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("labour_standard", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_shops"),
        sa.UniqueConstraint("code", name="uq_shops_code"),
    )
    op.create_table(
        "counters",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("series", sa.Text(), nullable=False),
        sa.Column("last_value", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_counters_shops"),
        sa.PrimaryKeyConstraint("shop_id", "series", name="pk_counters"),
    )
    op.create_table(
        "api_keys",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("secret_hash", sa.String(length=64), nullable=False),
        sa.Column("scopes", DOCUMENT, nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("expires_at", INSTANT, nullable=True),
        sa.Column("revoked_at", INSTANT, nullable=True),
        sa.Column("last_used_at", INSTANT, nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_api_keys_shops"),
        sa.PrimaryKeyConstraint("id", name="pk_api_keys"),
    )
    op.create_index("ix_api_keys_shop_id_created_at", "api_keys", ["shop_id", "created_at"])


def _catalogue() -> None:
    op.create_table(
        "items",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("price_group", sa.Text(), nullable=False),
        sa.Column("discontinued", sa.Boolean(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('moulding', 'board', 'glazing', 'fillet', 'hardware', 'supply')",
            name=op.f("ck_items_kind"),
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_items_shops"),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_items"),
    )
    op.create_table(
        "mouldings",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("face_width", TICKS, nullable=False),
        sa.Column("rabbet_width", TICKS, nullable=False),
        sa.Column("rabbet_depth", TICKS, nullable=False),
        sa.Column("stick_lengths", DOCUMENT, nullable=False),
        sa.Column("weight_kg_per_m", EXACT, nullable=False),
        sa.Column("supplies", DOCUMENT, nullable=False),
        sa.Column("material", sa.Text(), nullable=False),
        sa.Column("colour", sa.Text(), nullable=False),
        sa.Column("pattern_runs", sa.Boolean(), nullable=False),
        sa.Column("floater", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shop_id", "code"], ["items.shop_id", "items.code"], name="fk_mouldings_items"
        ),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_mouldings"),
    )
    op.create_table(
        "boards",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("thickness", TICKS, nullable=False),
        sa.Column("sheets", DOCUMENT, nullable=False),
        sa.Column("weight_kg_per_m2", EXACT, nullable=False),
        sa.Column("uses", DOCUMENT, nullable=False),
        sa.Column("ply", sa.Integer(), nullable=True),
        sa.Column("grade", sa.Integer(), nullable=False),
        sa.Column("colour", sa.Text(), nullable=False),
        sa.Column("grain", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shop_id", "code"], ["items.shop_id", "items.code"], name="fk_boards_items"
        ),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_boards"),
    )
    op.create_table(
        "glazing",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("thickness", TICKS, nullable=False),
        sa.Column("sheets", DOCUMENT, nullable=False),
        sa.Column("uv_percent", EXACT, nullable=True),
        sa.Column("uv_range", sa.Text(), nullable=False),
        sa.Column("finish", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shop_id", "code"], ["items.shop_id", "items.code"], name="fk_glazing_items"
        ),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_glazing"),
    )


def _small_items() -> None:
    op.create_table(
        "fillets",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("width", TICKS, nullable=False),
        sa.Column("depth", TICKS, nullable=False),
        sa.Column("stick_lengths", DOCUMENT, nullable=False),
        sa.Column("weight_kg_per_m", EXACT, nullable=False),
        sa.ForeignKeyConstraint(
            ["shop_id", "code"], ["items.shop_id", "items.code"], name="fk_fillets_items"
        ),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_fillets"),
    )
    op.create_table(
        "hardware",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("rating_kg", EXACT, nullable=False),
        sa.ForeignKeyConstraint(
            ["shop_id", "code"], ["items.shop_id", "items.code"], name="fk_hardware_items"
        ),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_hardware"),
    )
    op.create_table(
        "supplies",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("thickness", TICKS, nullable=False),
        sa.Column("grade", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["shop_id", "code"], ["items.shop_id", "items.code"], name="fk_supplies_items"
        ),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_supplies"),
    )
    op.create_table(
        "item_costs",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("cost", EXACT, nullable=False),
        sa.Column("sheet_width", TICKS, nullable=True),
        sa.Column("sheet_height", TICKS, nullable=True),
        sa.CheckConstraint(
            "(sheet_width IS NULL) = (sheet_height IS NULL)", name=op.f("ck_item_costs_sheet_whole")
        ),
        sa.ForeignKeyConstraint(
            ["shop_id", "item"], ["items.shop_id", "items.code"], name="fk_item_costs_items"
        ),
        sa.PrimaryKeyConstraint("shop_id", "item", "position", name="pk_item_costs"),
    )


def _prices() -> None:
    op.create_table(
        "price_lists",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("published_at", INSTANT, nullable=True),
        sa.Column("rules", sa.Text(), nullable=False),
        sa.Column("breaks", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_price_lists_shops"),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_price_lists"),
    )
    op.create_table(
        "labour_standards",
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("cost_per_hour", EXACT, nullable=False),
        sa.Column("operations", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_labour_standards_shops"),
        sa.PrimaryKeyConstraint("shop_id", "code", name="pk_labour_standards"),
    )


def _quotes() -> None:
    op.create_table(
        "quotes",
        sa.Column("id", ID, nullable=False),
        sa.Column("shop_id", ID, nullable=False),
        sa.Column("serial", sa.BigInteger(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("customer", DOCUMENT, nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("total_minor", sa.BigInteger(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.Column("valid_until", sa.Date(), nullable=False),
        sa.Column("created_by", ID, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shops.id"], name="fk_quotes_shops"),
        sa.PrimaryKeyConstraint("id", name="pk_quotes"),
        sa.UniqueConstraint("shop_id", "serial", name="uq_quotes_shop_id_serial"),
    )
    op.create_index("ix_quotes_shop_id_created_at_id", "quotes", ["shop_id", "created_at", "id"])
    op.create_index(
        "ix_quotes_shop_id_status_created_at_id",
        "quotes",
        ["shop_id", "status", "created_at", "id"],
    )
    op.create_index("ix_quotes_shop_id_updated_at_id", "quotes", ["shop_id", "updated_at", "id"])
    op.create_index(
        "ix_quotes_shop_id_reference_created_at_id",
        "quotes",
        ["shop_id", "reference", "created_at", "id"],
    )
    op.create_table(
        "papers",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("document", DOCUMENT, nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_papers"),
    )
    op.create_table(
        "quote_revisions",
        sa.Column("quote_id", ID, nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("request", DOCUMENT, nullable=False),
        sa.Column("result", DOCUMENT, nullable=False),
        sa.Column("papers", sa.Text(), nullable=False),
        sa.Column("costs", DOCUMENT, nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["quotes.id"], name="fk_quote_revisions_quotes"),
        sa.PrimaryKeyConstraint("quote_id", "revision", name="pk_quote_revisions"),
    )
