"""The offcut rack and the stock levels.

Every update that takes something states in its WHERE clause what must still be true and checks the
row count, so two planners never take the same offcut, whatever they read before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from operator import eq, ge
from typing import Any

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ColumnElement,
    ForeignKey,
    Index,
    Row,
    Table,
    Text,
    UniqueConstraint,
    insert,
    select,
    update,
)
from sqlalchemy.exc import IntegrityError

from schemas.materials.records import (
    ON_RACK,
    USED,
    Offcut,
    OffcutFilter,
    OffcutPage,
    StockLevel,
    Take,
)
from schemas.wire.page import Cursor
from service.domain.errors import Stale
from service.domain.measure.length import Length
from service.persistence.shop import next_serials
from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.pages import newest_first
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Instant, Ticks

OFFCUT_SERIES = "offcut"


class SqlRack:
    """The SQL implementation of the `Rack` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def serials(self, shop_id: str, count: int) -> range:
        """Return the shop's next labels."""
        return next_serials(self._session, shop_id, OFFCUT_SERIES, count) if count else range(0)

    def add(self, offcuts_: Sequence[Offcut]) -> None:
        """Put offcuts on the rack."""
        if offcuts_:
            self._session.connection.execute(insert(offcuts), [_fields(one) for one in offcuts_])

    def by_id(self, shop_id: str, offcut_id: str) -> Offcut:
        """Return the offcut with this id.

        Raises:
            NotFound: the shop has none.
        """
        return self._one("such offcut", offcuts.c.shop_id == shop_id, offcuts.c.id == offcut_id)

    def by_serial(self, shop_id: str, serial: int) -> Offcut:
        """Return the offcut with this label.

        Raises:
            NotFound: the shop has none.
        """
        mine = offcuts.c.shop_id == shop_id
        return self._one("offcut of that label", mine, offcuts.c.serial == serial)

    def on_rack(self, shop_id: str, items: Iterable[str]) -> tuple[Offcut, ...]:
        """Return the offcuts of these items on the rack, ordered by label."""
        return self._some(
            offcuts.c.shop_id == shop_id,
            offcuts.c.status == ON_RACK,
            offcuts.c.item.in_(list(items)),
        )

    def booked_by(self, plan_id: str) -> tuple[Offcut, ...]:
        """Return the offcuts that a plan put on the rack, ordered by label."""
        return self._some(offcuts.c.cut_by == plan_id)

    def change(self, was: Offcut, now: Offcut) -> None:
        """Update an offcut.

        Raises:
            Stale: another transaction changed it meanwhile.
        """
        mine = update(offcuts).where(offcuts.c.id == was.id, offcuts.c.version == was.version)
        if self._session.connection.execute(mine.values(**_fields(now))).rowcount != 1:
            raise Stale(f"offcut {was.label} was changed by somebody else just now; look again")

    def use(self, shop_id: str, offcut_id: str, plan_id: str, at: datetime) -> bool:
        """Take an offcut off the rack; return False if it is no longer there."""
        mine = update(offcuts).where(
            offcuts.c.shop_id == shop_id, offcuts.c.id == offcut_id, offcuts.c.status == ON_RACK
        )
        values = {"status": USED, "used_by": plan_id, "updated_at": at}
        changed = mine.values(version=offcuts.c.version + 1, **values)
        return self._session.connection.execute(changed).rowcount == 1

    def put_back(self, plan_id: str, at: datetime) -> None:
        """Put the offcuts that a plan used back on the rack."""
        mine = update(offcuts).where(offcuts.c.used_by == plan_id, offcuts.c.status == USED)
        values = {"status": ON_RACK, "used_by": None, "updated_at": at}
        self._session.connection.execute(mine.values(version=offcuts.c.version + 1, **values))

    def page(
        self, shop_id: str, wanted: OffcutFilter, limit: int, after: Cursor | None = None
    ) -> OffcutPage:
        """Return a page of offcuts, newest first.

        Offcuts added meanwhile never shift a later page.
        """
        statement = select(offcuts).where(offcuts.c.shop_id == shop_id)
        for column, compare, value in (
            (offcuts.c.status, eq, wanted.status),
            (offcuts.c.item, eq, wanted.item),
            (offcuts.c.width, ge, wanted.least_width),
            (offcuts.c.height, ge, wanted.least_height),
        ):
            if value is not None:
                statement = statement.where(compare(column, value))
        rows, following = newest_first(self._session.connection, statement, offcuts, limit, after)
        return OffcutPage(tuple(_offcut(row) for row in rows), following)

    def _some(self, *where: ColumnElement[bool]) -> tuple[Offcut, ...]:
        statement = select(offcuts).where(*where).order_by(offcuts.c.serial)
        return tuple(_offcut(row) for row in self._session.connection.execute(statement))

    def _one(self, what: str, *where: ColumnElement[bool]) -> Offcut:
        row = self._session.connection.execute(select(offcuts).where(*where)).one_or_none()
        return _offcut(found(row, what))


def _fields(one: Offcut | StockLevel) -> dict[str, Any]:
    return {name: getattr(one, name) for name in type(one).__slots__}


def _offcut(row: Row[Any]) -> Offcut:
    return Offcut(**row._mapping)


class SqlStockLevels:
    """The SQL implementation of the `StockLevels` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of_items(self, shop_id: str, items: Iterable[str] | None) -> tuple[StockLevel, ...]:
        """Return the levels of these items, or of all, ordered by item, width and height."""
        levels = stock_levels.c
        statement = select(stock_levels).where(levels.shop_id == shop_id)
        if items is not None:
            statement = statement.where(levels.item.in_(list(items)))
        statement = statement.order_by(levels.item, levels.width, levels.height)
        return tuple(_level(row) for row in self._session.connection.execute(statement))

    def level(self, shop_id: str, item: str, width: Length, height: Length) -> StockLevel:
        """Return one level.

        Raises:
            NotFound: that size is not counted.
        """
        statement = select(stock_levels).where(*_place(shop_id, item, width, height))
        row = self._session.connection.execute(statement).one_or_none()
        return _level(found(row, "count of that size"))

    def put(self, shop_id: str, level: StockLevel, seen: int) -> None:
        """Store a level over version `seen`, 0 for a new one.

        Raises:
            Stale: its version differs by now.
        """
        row = {"shop_id": shop_id, **_fields(level), "version": seen + 1}
        connection = self._session.connection
        if seen:
            place = _place(shop_id, level.item, level.width, level.height)
            mine = update(stock_levels).where(*place, stock_levels.c.version == seen)
            stored = connection.execute(mine.values(**row)).rowcount == 1
        else:
            try:
                with connection.begin_nested():
                    connection.execute(insert(stock_levels), row)
                stored = True
            except IntegrityError:
                stored = False
        if not stored:
            raise Stale("somebody else has counted this size just now; look again")

    def take(self, shop_id: str, take: Take, at: datetime) -> bool:
        """Take from a level; return False if there is not enough."""
        return self._grow(shop_id, take, -take.quantity, at)

    def put_back(self, shop_id: str, take: Take, at: datetime) -> None:
        """Return what was taken to the level."""
        self._grow(shop_id, take, take.quantity, at)

    def _grow(self, shop_id: str, take: Take, by: int, at: datetime) -> bool:
        place = _place(shop_id, take.item, take.width, take.height)
        mine = update(stock_levels).where(*place, stock_levels.c.quantity >= -by)
        values = {"quantity": stock_levels.c.quantity + by, "updated_at": at}
        changed = mine.values(version=stock_levels.c.version + 1, **values)
        return self._session.connection.execute(changed).rowcount == 1


def _place(
    shop_id: str, item: str, width: Length, height: Length
) -> tuple[ColumnElement[bool], ...]:
    levels = stock_levels.c
    return (
        levels.shop_id == shop_id,
        levels.item == item,
        levels.width == width,
        levels.height == height,
    )


def _level(row: Row[Any]) -> StockLevel:
    values = {name: value for name, value in row._mapping.items() if name != "shop_id"}
    return StockLevel(**values)


# `height` is 0 for a stick. `cut_by` is the plan that booked it, `used_by` the plan that took it.
offcuts = Table(
    "offcuts",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("serial", BigInteger, nullable=False),
    Column("item", Text, nullable=False),
    Column("width", Ticks, nullable=False),
    Column("height", Ticks, nullable=False),
    Column("status", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("cut_by", ID, ForeignKey("cutting_plans.id", name="fk_offcuts_cut_by_cutting_plans")),
    Column("used_by", ID, ForeignKey("cutting_plans.id", name="fk_offcuts_used_by_cutting_plans")),
    Column("version", BigInteger, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("updated_at", Instant, nullable=False),
    UniqueConstraint("shop_id", "serial"),
    Index(None, "shop_id", "status", "item"),
    Index(None, "cut_by"),
    Index(None, "used_by"),
)

stock_levels = Table(
    "stock_levels",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("item", Text, primary_key=True),
    Column("width", Ticks, primary_key=True),
    Column("height", Ticks, primary_key=True),
    Column("quantity", BigInteger, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("updated_at", Instant, nullable=False),
    CheckConstraint("quantity >= 0", name="no_debt"),
)
