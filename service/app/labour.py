"""A shop's labour standards: changed by one writer at a time, and recorded."""

from __future__ import annotations

import json

from schemas.labour import StandardRecord
from service.app.keys.actor import Changing, VersionCheck
from service.app.shop import ShopDocuments, make_room
from service.domain.errors import Conflict, NotFound
from service.domain.labour.standard import LabourStandard


def create_standard(
    changing: Changing, standard: LabourStandard, documents: ShopDocuments
) -> StandardRecord:
    """Store a new standard; a shop's first one is in use at once.

    Raises:
        Conflict: its code is taken, or the shop has reached its limit.
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
    changing: Changing,
    standard: LabourStandard,
    check_version: VersionCheck,
    documents: ShopDocuments,
) -> StandardRecord:
    """Replace a standard; stored quotes keep the minutes they were calculated with.

    Raises:
        NotFound: the shop has no standard of this code.
        Stale: it has changed since it was seen.
    """
    changing.take_turn()
    standards = changing.uow.labour_standards
    before = standards.by_code(changing.shop_id, standard.code)
    check_version(before.version)
    standards.put(changing.shop_id, standard, in_use=False)
    written = documents.standard(before.standard), documents.standard(standard)
    changing.note("labour_standard.changed", "labour_standard", standard.code, *written)
    return standards.by_code(changing.shop_id, standard.code)


def use_standard(changing: Changing, code: str, check_version: VersionCheck) -> StandardRecord:
    """Use this standard from now on.

    Raises:
        NotFound: the shop has no standard of this code.
        Stale: it has changed since it was seen.
    """
    changing.take_turn()
    standards = changing.uow.labour_standards
    found = standards.by_code(changing.shop_id, code)
    check_version(found.version)
    if not found.in_use:
        known = standards.records(changing.shop_id)
        before = next((each.standard.code for each in known if each.in_use), None)
        standards.use(changing.shop_id, code)
        written = (json.dumps({"in_use": used}).encode() for used in (before, code))
        changing.note("labour_standard.used", "labour_standard", code, *written)
    return standards.by_code(changing.shop_id, code)
