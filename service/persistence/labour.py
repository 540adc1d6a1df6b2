"""Stored labour standards, and which one a shop uses."""

from __future__ import annotations

from typing import Any

from sqlalchemy import BigInteger, Column, ForeignKey, Table, Text, bindparam, or_, select, update

from schemas.labour import StandardRecord
from service.domain.labour.standard import LabourStandard
from service.persistence.shop import shops
from service.persistence.sql.codec import read_json, write_json
from service.persistence.sql.documents import HOUR, MULTIPLIERS, OPERATIONS
from service.persistence.sql.metadata import ID, column, metadata
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Exact

labour_standards = Table(
    "labour_standards",
    metadata,
    Column("shop_id", ID, ForeignKey("shops.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    column("cost_per_hour", Exact),
    column("operations", Text),
    column("hour", Text, null=True),
    column("multipliers", Text),
    column("version", BigInteger),
)


_OF_SHOP = select(labour_standards).where(labour_standards.c.shop_id == bindparam("shop_id"))
_ALL = _OF_SHOP.order_by(labour_standards.c.code)
_RECORDS = _OF_SHOP.join(shops, shops.c.id == labour_standards.c.shop_id).add_columns(
    shops.c.labour_standard.label("used")
)
_IN_USE = _OF_SHOP.join(
    shops,
    (shops.c.id == labour_standards.c.shop_id)
    & (shops.c.labour_standard == labour_standards.c.code),
)


class SqlLabourStandards:
    """The SQL implementation of the `LabourStandards` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def put(self, shop_id: str, standard: LabourStandard, *, in_use: bool) -> None:
        """Add or replace a standard, and use it from now on if `in_use`."""
        values = {
            "shop_id": shop_id,
            "code": standard.code,
            "cost_per_hour": standard.cost_per_hour,
            "operations": write_json(OPERATIONS, standard.operations),
            "hour": write_json(HOUR, standard.hour) if standard.hour else None,
            "multipliers": write_json(MULTIPLIERS, standard.multipliers),
            "version": 1,
        }
        self._session.upsert(labour_standards, [values], grows="version")
        if in_use:
            self._use(shop_id, standard.code)
        self._session.changed.add(shop_id)

    def use(self, shop_id: str, code: str) -> None:
        """Use this standard from now on; its version and that of the previous one grow.

        Raises:
            NotFound: the shop has none of this code.
        """
        self.by_code(shop_id, code)
        before = select(shops.c.labour_standard).where(shops.c.id == shop_id).scalar_subquery()
        both = update(labour_standards).where(
            labour_standards.c.shop_id == shop_id,
            or_(labour_standards.c.code == code, labour_standards.c.code == before),
        )
        grown = both.values(version=labour_standards.c.version + 1)
        self._session.connection.execute(grown)
        self._use(shop_id, code)
        self._session.changed.add(shop_id)

    def _use(self, shop_id: str, code: str) -> None:
        mine = update(shops).where(shops.c.id == shop_id)
        self._session.connection.execute(mine.values(labour_standard=code))

    def all(self, shop_id: str) -> tuple[LabourStandard, ...]:
        """Return every standard, ordered by code."""
        rows = self._session.connection.execute(_ALL, {"shop_id": shop_id})
        return tuple(sorted((_standard(row) for row in rows), key=lambda one: one.code))

    def records(self, shop_id: str) -> tuple[StandardRecord, ...]:
        """Return every standard with its version, ordered by code."""
        rows = self._session.connection.execute(_RECORDS, {"shop_id": shop_id})
        return tuple(sorted((_record(row) for row in rows), key=lambda one: one.standard.code))

    def by_code(self, shop_id: str, code: str) -> StandardRecord:
        """Return the standard with this code.

        Raises:
            NotFound: the shop has none.
        """
        statement = _RECORDS.where(labour_standards.c.code == code)
        row = self._session.connection.execute(statement, {"shop_id": shop_id}).one_or_none()
        return _record(found(row, f"labour standard {code}"))

    def in_use(self, shop_id: str) -> LabourStandard:
        """Return the standard in use.

        Raises:
            NotFound: the shop uses none yet.
        """
        row = self._session.connection.execute(_IN_USE, {"shop_id": shop_id}).one_or_none()
        return _standard(found(row, "labour standard in use"))


def _standard(row: Any) -> LabourStandard:
    return LabourStandard(
        row.code,
        row.cost_per_hour,
        read_json(OPERATIONS, row.operations),
        None if row.hour is None else read_json(HOUR, row.hour),
        read_json(MULTIPLIERS, row.multipliers),
    )


def _record(row: Any) -> StandardRecord:
    return StandardRecord(_standard(row), row.version, row.used == row.code)
