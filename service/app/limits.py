"""How much a shop may have of what its callers can make, so that no key fills the disk.

The numbers are far beyond what a framer needs (common practice, no source); each is there so that
a key in the wrong hands, or a program that runs in a circle, comes to an end. What is not counted
here is bounded elsewhere: keys and webhooks where they are made, revisions and recut pieces in
their rules, quotes and events by the rate of a key and by `retention`.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from service.app.ports import UnitOfWork
from service.app.ports_sizes import Growing
from service.domain.errors import Conflict

MOST: Mapping[Growing, int] = {
    "items": 50_000,
    "price_lists": 500,
    "labour_standards": 100,
    "offcuts": 20_000,
    "waiting_plans": 20,
}
_SAID: Mapping[Growing, str] = {
    "items": "items in its catalogue; discontinued ones count too",
    "price_lists": "price lists; remove drafts that are not needed",
    "labour_standards": "labour standards; change one of them instead",
    "offcuts": "offcuts on its rack; discard some first",
    "waiting_plans": "cutting plans that wait to be made; ask again when one is done",
}
DAY = timedelta(days=1)


def make_room(uow: UnitOfWork, shop_id: str, what: Growing, more: int = 1) -> None:
    """Go on only if the shop may have so many more.

    Raises:
        Conflict: it may not.
    """
    most = MOST[what]
    if uow.sizes.of(shop_id, what, most) + more > most:
        raise Conflict(f"a shop has at most {most} {_SAID[what]}")


def too_many_drafts(uow: UnitOfWork, shop_id: str, now: datetime, most: int) -> bool:
    """Whether public forms have left so many drafts within a day that no more are taken.

    Args:
        uow: a unit of work that is open.
        shop_id: whose.
        now: the time.
        most: how many a day are taken; 0 for any number.
    """
    return most > 0 and uow.sizes.drafts_since(shop_id, now - DAY, most) >= most
