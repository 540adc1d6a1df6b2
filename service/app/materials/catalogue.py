"""The catalogue's items: created, changed, discontinued and restored, but never deleted.

A quote keeps its own copy of every item it used but refers to it by code, so a code means the same
thing for good, and items no longer sold are discontinued. Every change takes its turn (two writers
cannot both read a version and both store), is checked against the version that the caller has seen,
and is recorded with the state before and after.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

from schemas.materials.records import ItemCosts, ItemRecord
from service.app.keys.actor import Changing, VersionCheck
from service.app.shop import make_room
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind

"""Raises `Stale` for a version that the caller has not seen."""


class CatalogueDocuments(Protocol):
    """Writes items and costs for the change record."""

    def item(self, item: AnyItem) -> bytes:
        """Return the item's document."""
        ...

    def costs(self, costs: tuple[ItemCost, ...]) -> bytes:
        """Return the costs' document."""
        ...


def create_item(
    changing: Changing, kind: Kind, item: AnyItem, documents: CatalogueDocuments
) -> ItemRecord:
    """Store a new item.

    Raises:
        Conflict: its code is taken, or the shop has reached its limit.
    """
    changing.take_turn()
    make_room(changing.uow, changing.shop_id, "items")
    record = changing.uow.items.create(changing.shop_id, item, changing.at)
    changing.note(f"{kind}.created", kind, item.code, None, documents.item(item))
    return record


def change_item(
    changing: Changing,
    kind: Kind,
    item: AnyItem,
    check_version: VersionCheck,
    documents: CatalogueDocuments,
) -> ItemRecord:
    """Replace an item.

    Raises:
        NotFound: the shop has no item of this kind and code.
        Stale: it has changed since it was seen.
    """
    changing.take_turn()
    before = changing.uow.items.one(changing.shop_id, kind, item.code)
    check_version(before.version)
    record = changing.uow.items.change(changing.shop_id, item, changing.at)
    written = documents.item(before.item), documents.item(item)
    changing.note(f"{kind}.changed", kind, item.code, *written)
    return record


def sell(
    changing: Changing,
    kind: Kind,
    code: str,
    check_version: VersionCheck,
    documents: CatalogueDocuments,
    *,
    on_sale: bool,
) -> ItemRecord:
    """Discontinue an item, or restore it; do nothing if it is in that state.

    Raises:
        NotFound: the shop has no item of this kind and code.
        Stale: it has changed since it was seen.
    """
    changing.take_turn()
    before = changing.uow.items.one(changing.shop_id, kind, code)
    check_version(before.version)
    if before.item.discontinued is not on_sale:
        return before
    item = replace(before.item, discontinued=not on_sale)
    record = changing.uow.items.change(changing.shop_id, item, changing.at)
    written = documents.item(before.item), documents.item(item)
    word = "reinstated" if on_sale else "discontinued"
    changing.note(f"{kind}.{word}", kind, code, *written)
    return record


def put_costs(
    changing: Changing,
    code: str,
    costs: tuple[ItemCost, ...],
    check_version: VersionCheck,
    documents: CatalogueDocuments,
) -> ItemCosts:
    """Replace an item's costs.

    Raises:
        NotFound: the shop has no item with this code.
        Stale: the costs have changed since they were seen.
    """
    changing.take_turn()
    before = changing.uow.items.costs(changing.shop_id, code)
    check_version(before.version)
    changing.uow.catalogue.put_costs(changing.shop_id, code, costs)
    written = documents.costs(before.costs), documents.costs(costs)
    changing.note("costs.changed", "costs", code, *written)
    return ItemCosts(code, costs, before.version + 1)
