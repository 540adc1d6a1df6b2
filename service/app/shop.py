"""A shop's settings, and limits on what its callers can create, so that no key fills the disk.

The limits are far beyond what a framer needs (common practice, no source); each is there to stop a
stolen key or a looping program. What is not counted here is bounded elsewhere: keys and webhooks
where they are created, revisions and recut pieces in their rules, quotes and events by the rate of
a key and by `retention`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Protocol

from schemas.shop import ShopRecord
from service.app.keys.access import Principal
from service.app.keys.actor import Changing, VersionCheck
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
"""Maximum parts of a document (`JobSpec.parts`), for the shop's own keys and for price keys.

The largest possible single job has some 700, a plain one ten.
"""
MOST_TRIED, MOST_TRIED_PUBLIC = 300_000, 30_000
"""Maximum parts that a sweep calculates in total."""
PARTS_A_REQUEST = 50
"""Parts per request counted."""
PARTS_A_MOULDING = 2
"""The cost of trying one more moulding, in parts."""


def parts_of(jobs: Iterable[JobSpec]) -> int:
    """Return the number of parts in a document's jobs."""
    return sum(job.parts() for job in jobs)


def within_parts(parts: int, principal: Principal) -> None:
    """Check that a document has no more parts than the key may send at once.

    Raises:
        JobRefused: it has more.
    """
    most = MOST_PARTS if principal.may("counter") else MOST_PARTS_PUBLIC
    if parts > most:
        detail = (
            f"these jobs have {parts} windows, mats, rails and sheets to work out; this key may "
            f"send {most} in one document, so send fewer jobs at once"
        )
        raise JobRefused([Fault("/jobs", "too_many_parts", detail)])


def within_tries(parts: int, principal: Principal) -> None:
    """Check that a sweep calculates no more parts than the key may request.

    Raises:
        JobRefused: it calculates more.
    """
    most = MOST_TRIED if principal.may("counter") else MOST_TRIED_PUBLIC
    if parts > most:
        detail = (
            f"trying all of these comes to {parts} windows, mats, rails and sheets; this key may "
            f"ask for {most} at once, so name fewer items"
        )
        raise JobRefused([Fault("/items", "too_many_parts", detail)])


def make_room(uow: UnitOfWork, shop_id: str, what: Growing, more: int = 1) -> None:
    """Check that the shop may have this many more.

    Raises:
        Conflict: it would exceed its limit.
    """
    most = MOST[what]
    if uow.sizes.of(shop_id, what, most) + more > most:
        raise Conflict(f"a shop has at most {most} {_SAID[what]}")


def too_many_drafts(uow: UnitOfWork, shop_id: str, now: datetime, most: int) -> bool:
    """Return True if public forms have left so many drafts within a day that no more are accepted.

    Args:
        uow: an open unit of work.
        shop_id: the shop.
        now: the current time.
        most: how many a day are accepted; 0 for no limit.
    """
    return most > 0 and uow.sizes.drafts_since(shop_id, now - DAY, most) >= most


def too_many_draft_bytes(
    uow: UnitOfWork, key_id: str, now: datetime, bytes_: int, most: int
) -> bool:
    """Count the bytes of a draft; return True if its key has left too many within a day.

    Args:
        uow: an open unit of work for writing; the count is stored when it commits.
        key_id: the key that leaves the draft.
        now: the current time.
        bytes_: the size of the draft's documents.
        most: how many bytes a day are accepted from a key; 0 for no limit.
    """
    return most > 0 and not uow.sizes.count_draft(key_id, now, bytes_, most)


class ShopDocuments(Protocol):
    """Writes settings and standards for the change record."""

    def shop(self, shop: Shop) -> bytes:
        """Return the settings' document."""
        ...

    def standard(self, standard: LabourStandard) -> bytes:
        """Return the standard's document."""
        ...


def change_shop(
    changing: Changing, shop: Shop, check_version: VersionCheck, documents: ShopDocuments
) -> ShopRecord:
    """Replace the settings of the shop, whose code stays the same.

    Raises:
        Stale: they have changed since they were seen.
        Conflict: its code differs.
    """
    changing.take_turn()
    before = changing.uow.shops.by_id(changing.shop_id)
    check_version(before.settings_version)
    if shop.code != before.shop.code:
        raise Conflict(f"the shop is {before.shop.code} for good; its name may change")
    changing.uow.shops.save(changing.shop_id, shop)
    written = documents.shop(before.shop), documents.shop(shop)
    changing.note("shop.changed", "shop", shop.code, *written)
    return ShopRecord(before.id, before.version, shop, before.settings_version + 1)
