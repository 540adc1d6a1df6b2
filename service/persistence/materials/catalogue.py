"""A shop's items and their costs.

`KINDS` maps each kind to its table, columns and fields. What all items share is in `items`; a code
belongs to one kind for good.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    Select,
    Table,
    Text,
    bindparam,
    delete,
    false,
    insert,
    select,
    text,
    update,
)

from service.domain.errors import BadValue, Conflict
from service.domain.materials.catalogue import (
    AnyItem,
    Board,
    Catalogue,
    Consumable,
    Fillet,
    Glazing,
    Hardware,
    ItemCost,
    Moulding,
)
from service.domain.measure.length import Size
from service.persistence.sql.metadata import (
    ID,
    SHEETS,
    STICKS,
    WORDS,
    column,
    item_table,
    metadata,
)
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Exact, Instant, Ticks, Written

MOST_CODES = 500
"""The number of codes per query; databases limit the parameters of a statement."""


@dataclass(frozen=True, slots=True)
class _Kind:
    """One kind of item: its name in `items`, its table, and the fields in its columns."""

    name: str
    table: Table
    fields: tuple[str, ...]


def _kind(name: str, table: Table) -> _Kind:
    return _Kind(name, table, tuple(c.name for c in table.columns if not c.primary_key))


boards = item_table(
    "boards",
    column("thickness", Ticks),
    column("sheets", Written(SHEETS)),
    column("weight_kg_per_m2", Exact),
    column("uses", Written(WORDS)),
    column("ply", Integer, null=True),
    column("grade", Integer),
    column("colour", Text),
    column("grain", Boolean),
    Column("cut_by", Text, nullable=False, server_default="scored"),
    Column("edge_trim", Ticks, nullable=False, server_default="0"),
    Column("worked_as", Text, nullable=False, server_default=text("''")),
)


fillets = item_table(
    "fillets",
    column("width", Ticks),
    column("depth", Ticks),
    column("stick_lengths", Written(STICKS)),
    column("weight_kg_per_m", Exact),
)


glazing = item_table(
    "glazing",
    column("kind", Text),
    column("thickness", Ticks),
    column("sheets", Written(SHEETS)),
    column("uv_percent", Exact, null=True),
    column("uv_range", Text),
    column("finish", Text),
    Column("build", Text, nullable=False, server_default="plain"),
    column("density_kg_per_m3", Exact),
    Column("grain", Boolean, nullable=False, server_default=false()),
    Column("cut_by", Text, nullable=False, server_default="scored"),
    Column("edge_trim", Ticks, nullable=False, server_default="0"),
)


hardware = item_table(
    "hardware",
    column("role", Text),
    column("rating_kg", Exact),
)


mouldings = item_table(
    "mouldings",
    column("face_width", Ticks),
    column("rabbet_width", Ticks),
    column("rabbet_depth", Ticks),
    column("stick_lengths", Written(STICKS)),
    column("weight_kg_per_m", Exact),
    column("supplies", Written(WORDS)),
    column("material", Text),
    column("colour", Text),
    column("pattern_runs", Boolean),
    column("floater", Boolean),
    Column("height", Ticks, nullable=False, server_default="0"),
)


supplies = item_table(
    "supplies",
    column("thickness", Ticks),
    column("grade", Integer),
)


KINDS: Mapping[type[AnyItem], _Kind] = {
    Moulding: _kind("moulding", mouldings),
    Board: _kind("board", boards),
    Glazing: _kind("glazing", glazing),
    Fillet: _kind("fillet", fillets),
    Hardware: _kind("hardware", hardware),
    Consumable: _kind("supply", supplies),
}


item_costs = Table(
    "item_costs",
    metadata,
    Column("shop_id", ID, primary_key=True),
    Column("item", Text, primary_key=True),
    Column("position", Integer, primary_key=True),
    column("basis", Text),
    column("cost", Exact),
    column("sheet_width", Ticks, null=True),
    column("sheet_height", Ticks, null=True),
    ForeignKeyConstraint(["shop_id", "item"], ["items.shop_id", "items.code"]),
    CheckConstraint("(sheet_width IS NULL) = (sheet_height IS NULL)", name="sheet_whole"),
)


_COSTS = (
    select(item_costs)
    .where(item_costs.c.shop_id == bindparam("shop_id"))
    .order_by(item_costs.c.item, item_costs.c.position)
)


# What all items share, so that a code is unique in a shop whatever its kind.
items = Table(
    "items",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    column("kind", Text),
    column("description", Text),
    column("price_group", Text),
    column("discontinued", Boolean),
    column("words", Text),  # code and description without regard to case, to be searched
    column("version", BigInteger),
    column("costs_version", BigInteger),
    column("updated_at", Instant),
    Index(None, "shop_id", "kind", "code"),
    Index(None, "shop_id", "kind", "updated_at"),
    CheckConstraint(
        "kind IN ('moulding', 'board', 'glazing', 'fillet', 'hardware', 'supply')", name="kind"
    ),
)


SHARED = (items.c.code, items.c.description, items.c.price_group, items.c.discontinued)
LIFE = (items.c.version, items.c.costs_version, items.c.updated_at)


def rows_of(kind: type[AnyItem], *more: Any) -> Select[Any]:
    """Return the query for all items of a kind of the shop `:shop_id`, as rows for `item_of`."""
    entry = KINDS[kind]
    own = (entry.table.c[name].label(f"own_{name}") for name in entry.fields)
    joined = (items.c.shop_id == entry.table.c.shop_id) & (items.c.code == entry.table.c.code)
    return (
        select(*SHARED, *own, *more)
        .join(entry.table, joined)
        .where(items.c.shop_id == bindparam("shop_id"))
    )


_SELECTS = {kind: rows_of(kind) for kind in KINDS}


class SqlCatalogue:
    """The SQL implementation of the `CatalogueItems` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def put(self, shop_id: str, new: Iterable[AnyItem], at: datetime) -> None:
        """Add items, or replace those of the same code and increase their versions.

        Raises:
            Conflict: another kind of item has the code.
        """
        given = {item.code: item for item in new}
        self._same_kind(shop_id, given)
        by_kind: dict[type[AnyItem], list[AnyItem]] = defaultdict(list)
        for item in given.values():
            by_kind[type(item)].append(item)
        for kind, of_kind in by_kind.items():
            entry = KINDS[kind]
            shared = [_shared_row(shop_id, entry.name, item, at) for item in of_kind]
            self._session.upsert(items, shared, grows="version", keeps=("costs_version",))
            self._session.upsert(entry.table, [_own_row(shop_id, entry, i) for i in of_kind])
        self._session.changed.add(shop_id)

    def put_costs(self, shop_id: str, item: str, costs: Iterable[ItemCost]) -> None:
        """Replace all costs of one item.

        Raises:
            NotFound: the shop has no such item.
            BadValue: a cost names a different item.
        """
        self.put_all_costs(shop_id, {item: tuple(costs)})

    def put_all_costs(self, shop_id: str, costs: Mapping[str, Sequence[ItemCost]]) -> None:
        """Replace all costs of several items.

        Raises:
            NotFound: the shop has no such item.
            BadValue: a cost names a different item.
        """
        connection, codes = self._session.connection, list(costs)
        for start in range(0, len(codes), MOST_CODES):
            some = codes[start : start + MOST_CODES]
            mine = items.c.shop_id == shop_id, items.c.code.in_(some)
            there = set(connection.execute(select(items.c.code).where(*mine)).scalars())
            for code in some:
                found(code if code in there else None, f"item {code}")
            old = item_costs.c.shop_id == shop_id, item_costs.c.item.in_(some)
            connection.execute(delete(item_costs).where(*old))
            rows = [_cost_row(shop_id, c, n, cost) for c in some for n, cost in enumerate(costs[c])]
            if rows:
                connection.execute(insert(item_costs), rows)
            grown = update(items).where(*mine).values(costs_version=items.c.costs_version + 1)
            connection.execute(grown)
        self._session.changed.add(shop_id)

    def load(self, shop_id: str, version: int) -> Catalogue:
        """Return the whole catalogue, identified by `version`."""
        connection = self._session.connection
        every: dict[str, AnyItem] = {}
        for kind, statement in _SELECTS.items():
            for row in connection.execute(statement, {"shop_id": shop_id}):
                every[row.code] = item_of(kind, row)
        costs: dict[str, list[ItemCost]] = defaultdict(list)
        for row in connection.execute(_COSTS, {"shop_id": shop_id}):
            costs[row.item].append(cost_of(row))
        in_order = {code: every[code] for code in sorted(every)}
        return Catalogue(in_order, {code: tuple(them) for code, them in costs.items()}, version)

    def _same_kind(self, shop_id: str, given: Mapping[str, AnyItem]) -> None:
        codes = list(given)
        for start in range(0, len(codes), MOST_CODES):
            some = codes[start : start + MOST_CODES]
            known = select(items.c.code, items.c.kind).where(
                items.c.shop_id == shop_id, items.c.code.in_(some)
            )
            for row in self._session.connection.execute(known):
                name = KINDS[type(given[row.code])].name
                if row.kind != name:
                    raise Conflict(f"{row.code} is a {row.kind} already, not a {name}", "/code")


def folded(text: str) -> str:
    """Return text folded for searching: case-insensitive in every script and database."""
    return text.casefold()


def _shared_row(shop_id: str, kind: str, item: AnyItem, at: datetime) -> dict[str, Any]:
    return {
        "shop_id": shop_id,
        "code": item.code,
        "kind": kind,
        "description": item.description,
        "price_group": item.group,
        "discontinued": item.discontinued,
        "words": folded(f"{item.code} {item.description}"),
        "version": 1,
        "costs_version": 1,
        "updated_at": at,
    }


def _own_row(shop_id: str, kind: _Kind, item: AnyItem) -> dict[str, Any]:
    own = {name: getattr(item, name) for name in kind.fields}
    return {"shop_id": shop_id, "code": item.code, **own}


def item_of(kind: type[AnyItem], row: Any) -> AnyItem:
    """Return the item in a row of `rows_of`."""
    own = {name: getattr(row, f"own_{name}") for name in KINDS[kind].fields}
    return kind(
        code=row.code,
        description=row.description,
        group=row.price_group,
        discontinued=row.discontinued,
        **own,
    )


def _cost_row(shop_id: str, item: str, position: int, cost: ItemCost) -> dict[str, Any]:
    if cost.item != item:
        raise BadValue(f"this is a cost of {cost.item}, not of {item}", f"/{position}/item")
    return {
        "shop_id": shop_id,
        "item": item,
        "position": position,
        "basis": cost.basis,
        "cost": cost.cost,
        "sheet_width": cost.sheet.width if cost.sheet else None,
        "sheet_height": cost.sheet.height if cost.sheet else None,
    }


def cost_of(row: Any) -> ItemCost:
    """Return the cost in a row."""
    sheet = None if row.sheet_width is None else Size(row.sheet_width, row.sheet_height)
    return ItemCost(row.item, row.basis, row.cost, sheet)
