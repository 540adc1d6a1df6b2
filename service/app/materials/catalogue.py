"""The catalogue's life: items are made, changed, taken off sale and put back; never deleted.

A quote keeps its own copy of every item it used, yet names it by its code, so a code stands for
the same thing for good: what is no longer sold is discontinued. Every change takes its turn (two
writers cannot both have read the same version and both store), is checked against the version that
the caller has seen, and is noted with what was before and what is after.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

from schemas.materials.records import ItemCosts, ItemRecord
from service.app.keys.actor import Changing, Seen
from service.app.shop import make_room
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind

"""Raises `Stale` for a version that the caller has not seen."""


class CatalogueDocuments(Protocol):
    """Writes items and costs, for the record of changes."""

    def item(self, item: AnyItem) -> bytes:
        """The item."""
        ...

    def costs(self, costs: tuple[ItemCost, ...]) -> bytes:
        """The costs."""
        ...


def create_item(
    changing: Changing, kind: Kind, item: AnyItem, documents: CatalogueDocuments
) -> ItemRecord:
    """Store a new item.

    Raises:
        Conflict: its code is taken, or the shop has as many items as it may.
    """
    changing.take_turn()
    make_room(changing.uow, changing.shop_id, "items")
    record = changing.uow.items.create(changing.shop_id, item, changing.at)
    changing.note(f"{kind}.created", kind, item.code, None, documents.item(item))
    return record


def change_item(
    changing: Changing, kind: Kind, item: AnyItem, seen: Seen, documents: CatalogueDocuments
) -> ItemRecord:
    """Replace an item by what it is from now on.

    Raises:
        NotFound: the shop has none of this kind with this code.
        Stale: it is another by now than the one that was seen.
    """
    changing.take_turn()
    before = changing.uow.items.one(changing.shop_id, kind, item.code)
    seen(before.version)
    record = changing.uow.items.change(changing.shop_id, item, changing.at)
    written = documents.item(before.item), documents.item(item)
    changing.note(f"{kind}.changed", kind, item.code, *written)
    return record


def sell(
    changing: Changing,
    kind: Kind,
    code: str,
    seen: Seen,
    documents: CatalogueDocuments,
    *,
    on_sale: bool,
) -> ItemRecord:
    """Take an item off sale, or put it back; where it is so already nothing changes.

    Raises:
        NotFound: the shop has none of this kind with this code.
        Stale: it is another by now than the one that was seen.
    """
    changing.take_turn()
    before = changing.uow.items.one(changing.shop_id, kind, code)
    seen(before.version)
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
    seen: Seen,
    documents: CatalogueDocuments,
) -> ItemCosts:
    """Replace what an item costs.

    Raises:
        NotFound: the shop has no item with this code.
        Stale: the costs are others by now than those that were seen.
    """
    changing.take_turn()
    before = changing.uow.items.costs(changing.shop_id, code)
    seen(before.version)
    changing.uow.catalogue.put_costs(changing.shop_id, code, costs)
    written = documents.costs(before.costs), documents.costs(costs)
    changing.note("costs.changed", "costs", code, *written)
    return ItemCosts(code, costs, before.version + 1)
