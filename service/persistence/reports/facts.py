"""Facts for reports: narrow rows, written in the transaction of the change they record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

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
    bindparam,
    delete,
    insert,
    select,
    update,
)

from schemas.materials.records import ItemCut
from schemas.quotes.records import NewSale
from schemas.tickets.records import NewSpoilage
from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.session import Session
from service.persistence.sql.types import Instant, Ticks

# `cost_minor` is in `cost_currency`, the shop's own; null if the material's cost is unknown.
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


_TAKEN_BACK = (
    update(sales)
    .where(sales.c.quote_id == bindparam("quote"))
    .values(withdrawn_at=bindparam("at", type_=sales.c.withdrawn_at.type))
)


class SqlFacts:
    """The SQL implementation of the `Facts` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def sold(self, new: NewSale) -> None:
        """Store a sale."""
        sale, quote = new.sale, {"quote_id": new.quote_id}
        row = {
            **quote,
            "shop_id": new.shop_id,
            "accepted_at": new.accepted_at,
            "currency": sale.total.currency.code,
            "total_minor": sale.total.minor,
            "tax_minor": sale.tax.minor,
            "cost_minor": None if sale.cost is None else sale.cost.minor,
            "cost_currency": sale.own.code,
        }
        connection = self._session.connection
        connection.execute(insert(sales), row)
        parts = [
            {**quote, "component": p.component, "item": p.item, "net_minor": p.net}
            for p in sale.parts
        ]
        if parts:
            connection.execute(insert(sale_parts), parts)
        used = [{**quote, **use._asdict()} for use in sale.materials]
        if used:
            connection.execute(insert(sale_materials), used)

    def resold(self, new: NewSale) -> None:
        """Replace a sale by that of the changed order, on the day of the first acceptance."""
        connection, mine = self._session.connection, new.quote_id
        first = connection.execute(select(sales.c.accepted_at).where(sales.c.quote_id == mine))
        accepted_at = first.scalar_one_or_none() or new.accepted_at
        for table in (sale_parts, sale_materials, sales):
            connection.execute(delete(table).where(table.c.quote_id == mine))
        self.sold(replace(new, accepted_at=accepted_at))

    def taken_back(self, quote_id: str, at: datetime) -> None:
        """Store that a sale was reversed."""
        self._session.connection.execute(_TAKEN_BACK, {"quote": quote_id, "at": at})

    def cut(self, shop_id: str, plan_id: str, at: datetime, cut: Iterable[ItemCut]) -> None:
        """Store what a committed plan makes of each item."""
        plan = {"plan_id": plan_id, "shop_id": shop_id, "committed_at": at}
        rows = [
            {
                **plan,
                "item": one.item,
                "kind": one.kind,
                "new_stock": one.new,
                "racked": one.racked,
                "taken": str(one.taken),
                "made": str(one.made),
                "kept": str(one.kept),
            }
            for one in cut
        ]
        if rows:
            self._session.connection.execute(insert(plan_items), rows)

    def cut_undone(self, plan_id: str, at: datetime) -> None:
        """Store that a committed plan was undone."""
        self._session.connection.execute(_UNDONE, {"plan": plan_id, "at": at})

    def spoiled(self, new: NewSpoilage) -> None:
        """Store spoiled pieces."""
        row = {column.name: getattr(new, column.name) for column in spoilages.c}
        self._session.connection.execute(insert(spoilages), row)


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

# Areas in square ticks do not fit into 64 bits.
plan_items = Table(
    "plan_items",
    metadata,
    Column("plan_id", ID, ForeignKey("cutting_plans.id"), primary_key=True),
    Column("item", Text, primary_key=True),
    Column("kind", String(5), primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("committed_at", Instant, nullable=False),
    Column("undone_at", Instant, nullable=True),
    Column("new_stock", BigInteger, nullable=False),
    Column("racked", BigInteger, nullable=False),
    Column("taken", Text, nullable=False),
    Column("made", Text, nullable=False),
    Column("kept", Text, nullable=False),
    Index(None, "shop_id", "committed_at"),
)
_UNDONE = (
    update(plan_items)
    .where(plan_items.c.plan_id == bindparam("plan"))
    .values(undone_at=bindparam("at", type_=plan_items.c.undone_at.type))
)
