"""The catalogue's life: items are made, changed, taken off sale and put back; never deleted.

A quote keeps its own copy of every item it used, yet names it by its code, so a code stands for
the same thing for good: what is no longer sold is discontinued. Every change takes its turn (two
writers cannot both have read the same version and both store), is checked against the version that
the caller has seen, and is noted with what was before and what is after.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Protocol

from schemas.events.records_events import NewEvent
from schemas.materials.records import ItemCosts, ItemRecord
from service.app.ports import UnitOfWork
from service.app.ports_instants import OF_ITEMS
from service.app.shop import make_room
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind

Seen = Callable[[int], object]
"""Raises `Stale` for a version that the caller has not seen."""


class CatalogueDocuments(Protocol):
    """Writes items and costs, for the record of changes."""

    def item(self, item: AnyItem) -> bytes:
        """The item."""
        ...

    def costs(self, costs: tuple[ItemCost, ...]) -> bytes:
        """The costs."""
        ...


@dataclass(slots=True)
class Changing:
    """Who changes a shop's book, when, and within what.

    Attributes:
        uow: the unit of work; the caller commits.
        shop_id: whose book.
        key_id: the key that does it.
        at: when; once it has its turn, not before any earlier change.
    """

    uow: UnitOfWork
    shop_id: str
    key_id: str
    at: datetime

    def take_turn(self) -> None:
        """Wait until nobody else is changing this book."""
        self.uow.shops.take_turn(self.shop_id)
        self.at = self.uow.instants.turn(self.shop_id, OF_ITEMS, self.at)

    def event(
        self, kind: str, subject: str, subject_id: str, before: bytes | None, after: bytes | None
    ) -> NewEvent:
        """What is noted of the change."""
        return NewEvent(
            shop_id=self.shop_id,
            key_id=self.key_id,
            at=self.at,
            kind=kind,
            subject=subject,
            subject_id=subject_id,
            before=before,
            after=after,
        )

    def note(
        self, kind: str, subject: str, subject_id: str, before: bytes | None, after: bytes | None
    ) -> None:
        """Note the change in the same unit of work."""
        self.uow.events.add(self.event(kind, subject, subject_id, before, after))


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
