"""Single items of a catalogue: their state, versions and lists."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Select, bindparam, select

from schemas.materials.records import ItemCosts, ItemFilter, ItemPage, ItemRecord
from service.domain.errors import Conflict
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind
from service.persistence.materials.catalogue import (
    KINDS,
    LIFE,
    MOST_CODES,
    SqlCatalogue,
    cost_of,
    folded,
    item_costs,
    item_of,
    items,
    rows_of,
)
from service.persistence.sql.session import Session, found

_CLASS: Mapping[str, type[AnyItem]] = {entry.name: kind for kind, entry in KINDS.items()}
_ROWS = {kind: rows_of(kind, *LIFE) for kind in KINDS}
_ONE = {kind: rows.where(items.c.code == bindparam("code")) for kind, rows in _ROWS.items()}
_TAKEN = select(items.c.kind).where(
    items.c.shop_id == bindparam("shop_id"), items.c.code == bindparam("code")
)
_COSTS_VERSION = select(items.c.costs_version).where(
    items.c.shop_id == bindparam("shop_id"), items.c.code == bindparam("code")
)
_COSTS = (
    select(item_costs)
    .where(item_costs.c.shop_id == bindparam("shop_id"), item_costs.c.item == bindparam("code"))
    .order_by(item_costs.c.position)
)


class SqlItems:
    """The SQL implementation of the `Items` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def one(self, shop_id: str, kind: Kind, code: str) -> ItemRecord:
        """Return the item of this kind with this code.

        Raises:
            NotFound: the shop has none.
        """
        item_class = _CLASS[kind]
        values = {"shop_id": shop_id, "code": code}
        row = self._session.connection.execute(_ONE[item_class], values).one_or_none()
        return _record(item_class, found(row, f"{kind} {code}"))

    def page(self, shop_id: str, wanted: ItemFilter, limit: int, after: str = "") -> ItemPage:
        """Return a page of items ordered by code.

        Items added meanwhile never shift a later page.
        """
        item_class = _CLASS[wanted.kind]
        statement = _filtered(_ROWS[item_class], wanted)
        if after:
            statement = statement.where(items.c.code > after)
        statement = statement.order_by(items.c.code).limit(limit + 1)
        rows = self._session.connection.execute(statement, {"shop_id": shop_id}).all()
        records = tuple(_record(item_class, row) for row in rows[:limit])
        return ItemPage(records, records[-1].item.code if len(rows) > limit else None)

    def some(self, shop_id: str, codes: Sequence[str]) -> dict[str, AnyItem]:
        """Return the existing items with these codes, of any kind."""
        found_items: dict[str, AnyItem] = {}
        connection = self._session.connection
        for start in range(0, len(codes), MOST_CODES):
            named = items.c.code.in_(codes[start : start + MOST_CODES])
            mine = items.c.shop_id == shop_id
            kinds = connection.execute(select(items.c.kind).where(mine, named).distinct())
            for kind in kinds.scalars().all():
                item_class = _CLASS[kind]
                rows = connection.execute(_ROWS[item_class].where(named), {"shop_id": shop_id})
                found_items |= {row.code: item_of(item_class, row) for row in rows}
        return found_items

    def there(self, shop_id: str, codes: Sequence[str]) -> set[str]:
        """Return those of these codes that an item has."""
        there: set[str] = set()
        for start in range(0, len(codes), MOST_CODES):
            named = items.c.code.in_(codes[start : start + MOST_CODES])
            mine = select(items.c.code).where(items.c.shop_id == shop_id, named)
            there.update(self._session.connection.execute(mine).scalars())
        return there

    def costs_of(self, shop_id: str, codes: Sequence[str]) -> dict[str, tuple[ItemCost, ...]]:
        """Return the costs of these items by code, in order; items without costs are absent."""
        known: dict[str, tuple[ItemCost, ...]] = {}
        for start in range(0, len(codes), MOST_CODES):
            named = item_costs.c.item.in_(codes[start : start + MOST_CODES])
            mine = select(item_costs).where(item_costs.c.shop_id == shop_id, named)
            ordered = mine.order_by(item_costs.c.item, item_costs.c.position)
            for row in self._session.connection.execute(ordered):
                known[row.item] = (*known.get(row.item, ()), cost_of(row))
        return known

    def create(self, shop_id: str, item: AnyItem, at: datetime) -> ItemRecord:
        """Store a new item.

        Raises:
            Conflict: an item of some kind has its code.
        """
        values = {"shop_id": shop_id, "code": item.code}
        taken = self._session.connection.execute(_TAKEN, values).scalar()
        if taken is not None:
            raise Conflict(f"there is a {taken} {item.code} already; a code names one thing")
        SqlCatalogue(self._session).put(shop_id, [item], at)
        return ItemRecord(item, 1, 1, at)

    def change(self, shop_id: str, item: AnyItem, at: datetime) -> ItemRecord:
        """Replace an existing item.

        Raises:
            NotFound: the shop has no item of this kind and code.
        """
        kind: Any = KINDS[type(item)].name
        before = self.one(shop_id, kind, item.code)
        SqlCatalogue(self._session).put(shop_id, [item], at)
        return ItemRecord(item, before.version + 1, before.costs_version, at)

    def costs(self, shop_id: str, code: str) -> ItemCosts:
        """Return an item's costs.

        Raises:
            NotFound: the shop has no item with this code.
        """
        connection, values = self._session.connection, {"shop_id": shop_id, "code": code}
        version = found(connection.execute(_COSTS_VERSION, values).scalar(), f"item {code}")
        rows = connection.execute(_COSTS, values)
        return ItemCosts(code, tuple(cost_of(row) for row in rows), version)


def _filtered(statement: Select[Any], wanted: ItemFilter) -> Select[Any]:
    statement = statement.where(items.c.kind == wanted.kind)
    if wanted.group is not None:
        statement = statement.where(items.c.price_group == wanted.group)
    if wanted.discontinued is not None:
        statement = statement.where(items.c.discontinued.is_(wanted.discontinued))
    if wanted.updated_since is not None:
        statement = statement.where(items.c.updated_at >= wanted.updated_since)
    for word in wanted.words:
        statement = statement.where(items.c.words.contains(folded(word), autoescape=True))
    return statement


def _record(kind: type[AnyItem], row: Any) -> ItemRecord:
    return ItemRecord(item_of(kind, row), row.version, row.costs_version, row.updated_at)
