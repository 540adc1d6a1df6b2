"""Price lists: drafts that may change, and published ones that never do."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    Date,
    ForeignKey,
    String,
    Table,
    Text,
    bindparam,
    delete,
    select,
    update,
)

from schemas.prices.lists import PriceListRecord, PriceListState
from service.domain.errors import Conflict
from service.domain.measure.money import Currency
from service.domain.prices.lists import PriceList
from service.persistence.sql.codec import read_json, write_json
from service.persistence.sql.documents import BREAKS, RULES
from service.persistence.sql.metadata import ID, column, metadata
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Instant

price_lists = Table(
    "price_lists",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    column("currency", String(3)),
    column("first_day", Date),
    column("published_at", Instant, null=True),
    column("rules", Text),
    column("breaks", Text),
    column("version", BigInteger),
)


_ALL = (
    select(price_lists)
    .where(price_lists.c.shop_id == bindparam("shop_id"))
    .order_by(price_lists.c.first_day, price_lists.c.published_at, price_lists.c.code)
)
_BY_CODE = select(price_lists).where(
    price_lists.c.shop_id == bindparam("shop_id"), price_lists.c.code == bindparam("code")
)


class SqlPriceLists:
    """The SQL implementation of the `PriceLists` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def put(self, shop_id: str, price_list: PriceList) -> None:
        """Add or replace a draft.

        Raises:
            Conflict: a published list has this code.
        """
        row = self._row(shop_id, price_list.code)
        if row is not None and row.published_at is not None:
            raise Conflict(
                f"price list {price_list.code} is published and quotes were made by it, so it "
                "stays as it is; give the changed list a code of its own",
                "/code",
            )
        values = {
            "shop_id": shop_id,
            "code": price_list.code,
            "currency": price_list.currency.code,
            "first_day": price_list.first_day,
            "published_at": None,
            "rules": write_json(RULES, tuple(price_list.rules)),
            "breaks": write_json(BREAKS, tuple(price_list.breaks)),
            "version": 1,
        }
        self._session.upsert(price_lists, [values], grows="version")
        self._session.changed.add(shop_id)

    def publish(self, shop_id: str, code: str, at: datetime) -> None:
        """Publish a draft, effective from its first day; publishing it again changes nothing.

        Raises:
            NotFound: the shop has no such list.
        """
        row = found(self._row(shop_id, code), f"price list {code}")
        if row.published_at is not None:
            return
        mine = update(price_lists).where(
            price_lists.c.shop_id == shop_id, price_lists.c.code == code
        )
        values = {"published_at": at, "version": price_lists.c.version + 1}
        self._session.connection.execute(mine.values(values))
        self._session.changed.add(shop_id)

    def remove(self, shop_id: str, code: str) -> None:
        """Delete a draft.

        Raises:
            NotFound: the shop has no such list.
            Conflict: it is published.
        """
        row = found(self._row(shop_id, code), f"price list {code}")
        if row.published_at is not None:
            raise Conflict(f"price list {code} is published, and quotes name it, so it stays")
        mine = price_lists.c.shop_id == shop_id, price_lists.c.code == code
        self._session.connection.execute(delete(price_lists).where(*mine))

    def by_code(self, shop_id: str, code: str) -> PriceListRecord:
        """Return the list with this code.

        Raises:
            NotFound: the shop has no such list.
        """
        return _record(found(self._row(shop_id, code), f"price list {code}"))

    def all(self, shop_id: str) -> tuple[PriceListRecord, ...]:
        """Return all lists in order of taking effect: by first day, then by publication."""
        rows = self._session.connection.execute(_ALL, {"shop_id": shop_id})
        return tuple(_record(row) for row in rows)

    def _row(self, shop_id: str, code: str) -> Any:
        values = {"shop_id": shop_id, "code": code}
        return self._session.connection.execute(_BY_CODE, values).one_or_none()


def _record(row: Any) -> PriceListRecord:
    rules, breaks = read_json(RULES, row.rules), read_json(BREAKS, row.breaks)
    price_list = PriceList(row.code, Currency(row.currency), row.first_day, rules, breaks)
    state: PriceListState = "draft" if row.published_at is None else "published"
    return PriceListRecord(price_list, state, row.published_at, row.version)
