"""Counts of a shop's records for its limits, never counting beyond the limit."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from sqlalchemy import ColumnElement, Select, Table, func, select

from schemas.cutting.records import WAITING, WORKING
from schemas.materials.records import ON_RACK
from service.domain.quotes.life import DRAFT
from service.persistence.cutting.plans import cutting_plans
from service.persistence.keys.rates import SECOND, counting, microseconds
from service.persistence.labour import labour_standards
from service.persistence.materials.catalogue import items
from service.persistence.materials.offcuts import offcuts
from service.persistence.prices import price_lists
from service.persistence.quotes import quotes
from service.persistence.sql.session import Session

_OF: Mapping[Growing, tuple[Table, tuple[ColumnElement[bool], ...]]] = {
    "items": (items, ()),
    "price_lists": (price_lists, ()),
    "labour_standards": (labour_standards, ()),
    "offcuts": (offcuts, (offcuts.c.status == ON_RACK,)),
    "waiting_plans": (cutting_plans, (cutting_plans.c.status.in_((WAITING, WORKING)),)),
}
DRAFTS = "drafts:"
"""The prefix of a key's id for its drafts, counted apart from its requests."""
A_DAY = 24 * 3600 * SECOND


class SqlSizes:
    """The SQL implementation of the `Sizes` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of(self, shop_id: str, what: Growing, most: int) -> int:
        """Return how many there are, counting up to `most`."""
        table, which = _OF[what]
        found = select(table.c.shop_id).where(table.c.shop_id == shop_id, *which)
        return self._count(found, most)

    def drafts_since(self, shop_id: str, since: datetime, most: int) -> int:
        """Return how many quotes stored since then are still drafts, counting up to `most`."""
        found = select(quotes.c.shop_id).where(
            quotes.c.shop_id == shop_id, quotes.c.status == DRAFT, quotes.c.created_at > since
        )
        return self._count(found, most)

    def count_draft(self, key_id: str, now: datetime, bytes_: int, a_day: int) -> bool:
        """Count a draft's bytes; return True if they fit the key's allowance for the day."""
        each = -(-bytes_ * A_DAY // a_day)
        if each > A_DAY:
            return False
        values = {"key": f"{DRAFTS}{key_id}"[:36], "now": microseconds(now), "each": each}
        connection = self._session.connection
        count = counting(connection.dialect.name, A_DAY)
        return connection.execute(count, values).scalar() is not None

    def _count(self, found: Select[tuple[str]], most: int) -> int:
        counted = select(func.count()).select_from(found.limit(most).subquery())
        return self._session.connection.execute(counted).scalar_one()


Growing = Literal["items", "price_lists", "labour_standards", "offcuts", "waiting_plans"]
