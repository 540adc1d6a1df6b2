"""Price lists: a draft, then published and never changed again, since quotes refer to it.

A published list takes effect on its first day by itself, and is superseded when the next one in its
currency takes effect.
"""

from __future__ import annotations

import json
from typing import Protocol

from schemas.prices.lists import PriceListRecord
from service.app.keys.actor import Changing, VersionCheck
from service.app.shop import make_room
from service.domain.errors import Conflict, NotFound
from service.domain.prices.lists import MARKUPS, PriceList


class PriceListDocuments(Protocol):
    """Writes price lists for the change record."""

    def price_list(self, price_list: PriceList) -> bytes:
        """Return the list's document."""
        ...


def create_list(
    changing: Changing, price_list: PriceList, documents: PriceListDocuments
) -> PriceListRecord:
    """Store a new draft.

    Raises:
        Conflict: its code is taken, or the shop has reached its limit.
    """
    changing.take_turn()
    lists, shop_id = changing.uow.price_lists, changing.shop_id
    make_room(changing.uow, shop_id, "price_lists")
    try:
        lists.by_code(shop_id, price_list.code)
    except NotFound:
        pass
    else:
        raise Conflict(f"there is a price list {price_list.code} already")
    lists.put(shop_id, price_list)
    after = documents.price_list(price_list)
    changing.note("price_list.created", "price_list", price_list.code, None, after)
    return lists.by_code(shop_id, price_list.code)


def change_list(
    changing: Changing,
    price_list: PriceList,
    check_version: VersionCheck,
    documents: PriceListDocuments,
) -> PriceListRecord:
    """Replace a draft.

    Raises:
        NotFound: the shop has no list of this code.
        Stale: it has changed since it was seen.
        Conflict: it is published.
    """
    before = _checked_list(changing, price_list.code, check_version)
    lists = changing.uow.price_lists
    lists.put(changing.shop_id, price_list)
    written = documents.price_list(before.price_list), documents.price_list(price_list)
    changing.note("price_list.changed", "price_list", price_list.code, *written)
    return lists.by_code(changing.shop_id, price_list.code)


def remove_draft(
    changing: Changing, code: str, check_version: VersionCheck, documents: PriceListDocuments
) -> None:
    """Delete a draft; no quote can refer to it.

    Raises:
        NotFound: the shop has no list of this code.
        Stale: it has changed since it was seen.
        Conflict: it is published.
    """
    before = _checked_list(changing, code, check_version)
    changing.uow.price_lists.remove(changing.shop_id, code)
    written = documents.price_list(before.price_list)
    changing.note("price_list.removed", "price_list", code, written, None)


def publish_list(changing: Changing, code: str, check_version: VersionCheck) -> PriceListRecord:
    """Publish a draft, effective from its first day; publishing it again changes nothing.

    Raises:
        NotFound: the shop has no list of this code.
        Stale: it has changed since it was seen.
        Conflict: it marks up costs, which are in another currency than the list.
    """
    before = _checked_list(changing, code, check_version)
    price_list, lists = before.price_list, changing.uow.price_lists
    own = changing.uow.shops.by_id(changing.shop_id).shop.currency
    marked_up = [rule.code for rule in price_list.rules if rule.method in MARKUPS]
    if price_list.currency.code != own and marked_up:
        raise Conflict(
            f"the shop's costs are in {own}, and a list in {price_list.currency.code} cannot mark "
            f"them up; give {marked_up[0]} a rate ({len(marked_up)} rules mark up)"
        )
    if before.state == "draft":
        lists.publish(changing.shop_id, code, changing.at)
        after = lists.by_code(changing.shop_id, code)
        changing.note("price_list.published", "price_list", code, _state(before), _state(after))
        return after
    return before


def _state(record: PriceListRecord) -> bytes:
    """Return the audit record of a publication; the list itself was recorded before."""
    first_day = record.price_list.first_day.isoformat()
    return json.dumps({"state": record.state, "first_day": first_day}).encode()


def _checked_list(changing: Changing, code: str, check_version: VersionCheck) -> PriceListRecord:
    changing.take_turn()
    before = changing.uow.price_lists.by_code(changing.shop_id, code)
    check_version(before.version)
    return before
