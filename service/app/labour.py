"""A shop's settings and its labour standards: changed one writer at a time, and noted."""

from __future__ import annotations

import json
from typing import Protocol

from schemas.materials.records import StandardRecord
from schemas.quotes.records import ShopRecord
from service.app.materials.catalogue import Changing, Seen
from service.app.shop import make_room
from service.domain.errors import Conflict, NotFound
from service.domain.labour.standard import LabourStandard
from service.domain.shop import Shop


class ShopDocuments(Protocol):
    """Writes settings and standards, for the record of changes."""

    def shop(self, shop: Shop) -> bytes:
        """The settings."""
        ...

    def standard(self, standard: LabourStandard) -> bytes:
        """The standard."""
        ...


def change_shop(changing: Changing, shop: Shop, seen: Seen, documents: ShopDocuments) -> ShopRecord:
    """Replace the settings of the shop, whose code stays.

    Raises:
        Stale: they are others by now than those that were seen.
        Conflict: its code is another one.
    """
    changing.take_turn()
    before = changing.uow.shops.by_id(changing.shop_id)
    seen(before.settings_version)
    if shop.code != before.shop.code:
        raise Conflict(f"the shop is {before.shop.code} for good; its name may change")
    changing.uow.shops.save(changing.shop_id, shop)
    written = documents.shop(before.shop), documents.shop(shop)
    changing.note("shop.changed", "shop", shop.code, *written)
    return ShopRecord(before.id, before.version, shop, before.settings_version + 1)


def create_standard(
    changing: Changing, standard: LabourStandard, documents: ShopDocuments
) -> StandardRecord:
    """Store a new standard; the first of a shop is in use at once.

    Raises:
        Conflict: its code is taken, or the shop has as many standards as it may.
    """
    changing.take_turn()
    make_room(changing.uow, changing.shop_id, "labour_standards")
    standards = changing.uow.labour_standards
    try:
        standards.by_code(changing.shop_id, standard.code)
    except NotFound:
        pass
    else:
        raise Conflict(f"there is a labour standard {standard.code} already")
    first = not any(known.in_use for known in standards.records(changing.shop_id))
    standards.put(changing.shop_id, standard, in_use=first)
    after = documents.standard(standard)
    changing.note("labour_standard.created", "labour_standard", standard.code, None, after)
    return standards.by_code(changing.shop_id, standard.code)


def change_standard(
    changing: Changing, standard: LabourStandard, seen: Seen, documents: ShopDocuments
) -> StandardRecord:
    """Replace a standard; stored quotes keep the minutes they were worked out with.

    Raises:
        NotFound: the shop has none of this code.
        Stale: it is another by now than the one that was seen.
    """
    changing.take_turn()
    standards = changing.uow.labour_standards
    before = standards.by_code(changing.shop_id, standard.code)
    seen(before.version)
    standards.put(changing.shop_id, standard, in_use=False)
    written = documents.standard(before.standard), documents.standard(standard)
    changing.note("labour_standard.changed", "labour_standard", standard.code, *written)
    return standards.by_code(changing.shop_id, standard.code)


def use_standard(changing: Changing, code: str, seen: Seen) -> StandardRecord:
    """Work by this standard from now on.

    Raises:
        NotFound: the shop has none of this code.
        Stale: it is another by now than the one that was seen.
    """
    changing.take_turn()
    standards = changing.uow.labour_standards
    found = standards.by_code(changing.shop_id, code)
    seen(found.version)
    if not found.in_use:
        known = standards.records(changing.shop_id)
        before = next((each.standard.code for each in known if each.in_use), None)
        standards.use(changing.shop_id, code)
        written = (json.dumps({"in_use": used}).encode() for used in (before, code))
        changing.note("labour_standard.used", "labour_standard", code, *written)
    return standards.by_code(changing.shop_id, code)
