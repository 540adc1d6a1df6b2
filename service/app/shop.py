"""How much a shop may have of what its callers can make, so that no key fills the disk.

The numbers are far beyond what a framer needs (common practice, no source); each is there so that
a key in the wrong hands, or a program that runs in a circle, comes to an end. What is not counted
here is bounded elsewhere: keys and webhooks where they are made, revisions and recut pieces in
their rules, quotes and events by the rate of a key and by `retention`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Protocol

from schemas.shop import ShopRecord
from service.app.keys.access import Principal
from service.app.keys.actor import Changing, Seen
from service.domain.errors import Conflict, Fault, JobRefused
from service.domain.jobs.job import JobSpec
from service.domain.labour.standard import LabourStandard
from service.domain.shop import Shop
from service.persistence.limits import Growing
from service.persistence.unit_of_work import UnitOfWork

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
MOST_PARTS, MOST_PARTS_PUBLIC = 10_000, 1_000
"""Parts of a document (`JobSpec.parts`), for the shop's own keys and for those that only price.

The largest single job that there can be has some 700, a plain one ten.
"""
MOST_TRIED, MOST_TRIED_PUBLIC = 300_000, 30_000
"""Parts that a sweep works out in all."""
PARTS_A_REQUEST = 50
"""So many parts count as one request of the key."""
PARTS_A_MOULDING = 2
"""What trying one more moulding costs, as parts."""


def parts_of(jobs: Iterable[JobSpec]) -> int:
    """How many parts the jobs of a document have."""
    return sum(job.parts() for job in jobs)


def within_parts(parts: int, asks: Principal) -> None:
    """Go on only if a document has no more parts than the key may send in one.

    Raises:
        JobRefused: it has.
    """
    most = MOST_PARTS if asks.may("counter") else MOST_PARTS_PUBLIC
    if parts > most:
        detail = (
            f"these jobs have {parts} windows, mats, rails and sheets to work out; this key may "
            f"send {most} in one document, so send fewer jobs at once"
        )
        raise JobRefused([Fault("/jobs", "too_many_parts", detail)])


def within_tries(parts: int, asks: Principal) -> None:
    """Go on only if a sweep works out no more parts than the key may ask for.

    Raises:
        JobRefused: it does.
    """
    most = MOST_TRIED if asks.may("counter") else MOST_TRIED_PUBLIC
    if parts > most:
        detail = (
            f"trying all of these comes to {parts} windows, mats, rails and sheets; this key may "
            f"ask for {most} at once, so name fewer items"
        )
        raise JobRefused([Fault("/items", "too_many_parts", detail)])


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


def too_many_draft_bytes(
    uow: UnitOfWork, key_id: str, now: datetime, bytes_: int, most: int
) -> bool:
    """Count the bytes of a draft, unless its key has left too many within a day.

    Args:
        uow: a unit of work that is open to write; what it counts is kept with its commit.
        key_id: the key that leaves the draft.
        now: the time.
        bytes_: how long the draft's documents are.
        most: how many bytes a day are taken of a key; 0 for any number.
    """
    return most > 0 and not uow.sizes.count_draft(key_id, now, bytes_, most)


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
