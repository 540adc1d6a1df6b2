"""Shops, their settings, and their number series."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Table,
    Text,
    UniqueConstraint,
    bindparam,
    insert,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import IntegrityError

from schemas.shop import ShopRecord
from service.domain.errors import Conflict, NotFound
from service.domain.quotes.numbers import FIRST_SERIAL
from service.domain.shop import Shop
from service.persistence.sql.codec import read_json, write_json
from service.persistence.sql.documents import SHOP
from service.persistence.sql.metadata import ID, column, metadata
from service.persistence.sql.session import Session
from service.persistence.sql.types import Document, Instant


def next_serials(session: Session, shop_id: str, series: str, count: int) -> range:
    """Return the next serials of a series, whose row stays locked until the unit of work ends."""
    dialect = postgresql if session.connection.dialect.name == "postgresql" else sqlite
    first = {"shop_id": shop_id, "series": series, "last_value": FIRST_SERIAL - 1 + count}
    statement = (
        dialect.insert(counters)
        .values(first)
        .on_conflict_do_update(
            index_elements=["shop_id", "series"],
            set_={"last_value": counters.c.last_value + count},
        )
        .returning(counters.c.last_value)
    )
    last = session.connection.execute(statement).scalar_one()
    return range(last - count + 1, last + 1)


QUOTE_SERIES, TICKET_SERIES = "quote", "ticket"


shops = Table(
    "shops",
    metadata,
    Column("id", ID, primary_key=True),
    column("code", Text),
    column("name", Text),
    column("settings", Document),
    column("version", BigInteger),
    column("labour_standard", Text, null=True),
    column("settings_version", BigInteger),
    UniqueConstraint("code"),
)


_BY_ID = select(shops).where(shops.c.id == bindparam("shop_id"))
_BY_CODE = select(shops).where(shops.c.code == bindparam("code"))
_VERSION = select(shops.c.version).where(shops.c.id == bindparam("shop_id"))
_TURN = _VERSION.with_for_update(key_share=True)
_GROW = update(shops).where(shops.c.id == bindparam("shop_id")).values(version=shops.c.version + 1)


class SqlShops:
    """The SQL implementation of the `Shops` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, shop_id: str, shop: Shop) -> ShopRecord:
        """Store a new shop.

        Raises:
            Conflict: its code is taken.
        """
        connection = self._session.connection
        row = {"id": shop_id, "version": 1, "settings_version": 1, **_row(shop)}
        series = [
            {"shop_id": shop_id, "series": name, "last_value": FIRST_SERIAL - 1}
            for name in (QUOTE_SERIES, TICKET_SERIES)
        ]
        try:
            with connection.begin_nested():
                connection.execute(insert(shops), row)
        except IntegrityError as error:
            raise Conflict(f"there is a shop {shop.code} already", "/code") from error
        connection.execute(insert(counters), series)
        return ShopRecord(shop_id, 1, shop, 1)

    def save(self, shop_id: str, shop: Shop) -> None:
        """Replace a shop's settings.

        Raises:
            NotFound: there is no such shop, or its code differs.
        """
        mine = update(shops).where(shops.c.id == shop_id, shops.c.code == shop.code)
        values = {**_row(shop), "settings_version": shops.c.settings_version + 1}
        if self._session.connection.execute(mine.values(values)).rowcount != 1:
            raise NotFound(f"there is no shop {shop.code} to save")
        self._session.changed.add(shop_id)

    def by_id(self, shop_id: str) -> ShopRecord:
        """Return the shop with this id.

        Raises:
            NotFound: there is none.
        """
        return self._one(_BY_ID, {"shop_id": shop_id}, "there is no such shop")

    def by_code(self, code: str) -> ShopRecord:
        """Return the shop with this code.

        Raises:
            NotFound: there is none.
        """
        return self._one(_BY_CODE, {"code": code}, f"there is no shop {code}")

    def codes(self) -> tuple[str, ...]:
        """Return the codes of all shops, in order."""
        rows = self._session.connection.execute(select(shops.c.code).order_by(shops.c.code))
        return tuple(rows.scalars())

    def version(self, shop_id: str) -> int:
        """Return only the version of a shop's book.

        Raises:
            NotFound: there is no such shop.
        """
        version = self._session.connection.execute(_VERSION, {"shop_id": shop_id}).scalar()
        if version is None:
            raise NotFound("there is no such shop")
        return int(version)

    def take_turn(self, shop_id: str) -> None:
        """Lock the shop's book against other writers.

        In SQLite every writer has waited already. In PostgreSQL the lock does not block new quotes,
        which only reference the shop.

        Raises:
            NotFound: there is no such shop.
        """
        if self._session.connection.execute(_TURN, {"shop_id": shop_id}).scalar() is None:
            raise NotFound("there is no such shop")

    def _one(self, statement: Any, values: dict[str, str], missing: str) -> ShopRecord:
        row = self._session.connection.execute(statement, values).one_or_none()
        if row is None:
            raise NotFound(missing)
        settings = read_json(SHOP, row.settings)
        return ShopRecord(row.id, row.version, settings, row.settings_version)


def grow_versions(session: Session) -> None:
    """Increase the version of every shop that was changed; in a fixed order, to avoid deadlock."""
    for shop_id in sorted(session.changed):
        session.connection.execute(_GROW, {"shop_id": shop_id})


def _row(shop: Shop) -> dict[str, Any]:
    return {"code": shop.code, "name": shop.name, "settings": write_json(SHOP, shop).encode()}


# Separate from `shops`, so that the row which every new quote changes is a narrow one, and so that
# further series (bench tickets) are rows and not columns. `stamped_at` is the timestamp of the last
# change to the numbered records.
counters = Table(
    "counters",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("series", Text, primary_key=True),
    column("last_value", BigInteger),
    column("stamped_at", Instant, null=True),
)
