"""Bulk import of items, costs and price lists: only differences are stored and recorded.

The caller passes parsed batches, within its own unit of work, and decides at the end whether to
commit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemas.prices.lists import PriceListRecord
from service.app.keys.actor import Changing
from service.app.materials.catalogue import CatalogueDocuments
from service.app.prices.lists import PriceListDocuments, create_list, publish_list
from service.app.shop import make_room
from service.domain.errors import Conflict, NotFound
from service.domain.materials.catalogue import AnyItem, ItemCost, Kind
from service.domain.prices.lists import PriceList


@dataclass(slots=True)
class Tally:
    """The numbers of new, changed and unchanged records."""

    created: int = 0
    changed: int = 0
    same: int = 0

    def add(self, other: Tally) -> None:
        """Add the other's counts."""
        self.created += other.created
        self.changed += other.changed
        self.same += other.same


def import_items(
    changing: Changing,
    kind: Kind,
    items: Sequence[AnyItem],
    known: Mapping[str, AnyItem],
    documents: CatalogueDocuments,
) -> Tally:
    """Store new and changed items of one kind.

    Args:
        changing: the actor and the unit of work.
        kind: the kind of the items.
        items: each code once, and none that another kind of item has.
        known: the existing items of these codes.
        documents: writes them for the record.

    Raises:
        Conflict: the shop would exceed its limit.
    """
    tally, differ, events = Tally(), [], []
    for item in items:
        before = known.get(item.code)
        if before == item:
            tally.same += 1
            continue
        differ.append(item)
        word = "created" if before is None else "changed"
        was = None if before is None else documents.item(before)
        events.append(changing.event(f"{kind}.{word}", kind, item.code, was, documents.item(item)))
        tally.add(Tally(created=before is None, changed=before is not None))
    if tally.created:
        make_room(changing.uow, changing.shop_id, "items", tally.created)
    if differ:
        changing.uow.catalogue.put(changing.shop_id, differ, changing.at)
        changing.uow.events.add_all(events)
    return tally


def known_items(changing: Changing, codes: Sequence[str]) -> dict[str, AnyItem]:
    """Return the existing items with these codes, of any kind."""
    return changing.uow.items.some(changing.shop_id, codes)


def unknown(changing: Changing, codes: Sequence[str]) -> set[str]:
    """Return the codes that no item has."""
    return set(codes) - changing.uow.items.there(changing.shop_id, codes)


def import_costs(
    changing: Changing,
    costs: Mapping[str, tuple[ItemCost, ...]],
    documents: CatalogueDocuments,
) -> Tally:
    """Replace the costs that differ.

    Raises:
        NotFound: there is no such item; see `unknown`.
    """
    known = changing.uow.items.costs_of(changing.shop_id, list(costs))
    tally, events = Tally(), []
    differ: dict[str, tuple[ItemCost, ...]] = {}
    for code, given in costs.items():
        before = known.get(code, ())
        if before == given:
            tally.same += 1
            continue
        differ[code] = given
        written = documents.costs(before), documents.costs(given)
        events.append(changing.event("costs.changed", "costs", code, *written))
        tally.add(Tally(created=not before, changed=bool(before)))
    if differ:
        changing.uow.catalogue.put_all_costs(changing.shop_id, differ)
        changing.uow.events.add_all(events)
    return tally


def import_price_list(
    changing: Changing, price_list: PriceList, documents: PriceListDocuments, *, publish: bool
) -> Tally:
    """Store a price list, and publish it if requested.

    Raises:
        Conflict: a published list of this code differs; or a list in another currency than the
            shop's would mark up costs.
    """
    lists, shop_id = changing.uow.price_lists, changing.shop_id
    tally = Tally()
    try:
        known: PriceListRecord | None = lists.by_code(shop_id, price_list.code)
    except NotFound:
        known = None
    if known is None:
        create_list(changing, price_list, documents)
        tally.created = 1
    elif documents.price_list(known.price_list) == documents.price_list(price_list):
        tally.same = 1
    elif known.state == "published":
        raise Conflict(f"price list {price_list.code} is published, and is another one than this")
    else:
        lists.put(shop_id, price_list)
        written = documents.price_list(known.price_list), documents.price_list(price_list)
        changing.note("price_list.changed", "price_list", price_list.code, *written)
        tally.changed = 1
    if publish:
        publish_list(changing, price_list.code, lambda version: version)
    return tally
