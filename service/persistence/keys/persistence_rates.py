"""Counting a key's requests in the database, for several nodes together.

One statement counts and answers; where the bucket is empty it changes nothing, and a second one
tells how long to wait. All nodes tell the time by the database's clock. A database that cannot be
reached refuses nobody here: it will show soon enough where it is really needed.
"""

from __future__ import annotations

from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import BigInteger, Engine, bindparam, case, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.app.ports import Clock
from service.persistence.keys.rates import FULL, SECOND, Allowance, counted, refusal
from service.persistence.keys.tables_rates import rate_buckets as table
from service.persistence.sql.engine import writing

_NOW = bindparam("now", type_=BigInteger)
_EACH = bindparam("each", type_=BigInteger)
_FULL_AT = select(table.c.full_at).where(table.c.key_id == bindparam("key"))


@cache
def counting(dialect: str, full: int) -> Any:
    """The statement that counts `each` in the bucket of `key` at `now`, if there is room for it.

    Args:
        dialect: the database's.
        full: how long an empty bucket takes to fill; microseconds.

    Returns:
        an upsert that returns when the bucket will be full again, and no row where it is refused.
    """
    # A bucket further from full than a whole one tells of a clock that was set back.
    start = case((table.c.full_at.between(_NOW, _NOW + full), table.c.full_at), else_=_NOW)
    insert = (postgresql if dialect == "postgresql" else sqlite).insert(table)
    first = insert.values(key_id=bindparam("key"), full_at=_NOW + _EACH)
    return first.on_conflict_do_update(
        index_elements=[table.c.key_id],
        set_={"full_at": start + _EACH},
        where=start + _EACH - _NOW <= full,
    ).returning(table.c.full_at)


class SqlRates:
    """The port `Rates` over SQL."""

    def __init__(self, engine: Engine, clock: Clock) -> None:
        self._engine = writing(engine)
        self._clock = clock
        self._count = counting(engine.dialect.name, FULL)

    def take(self, key_id: str, per_minute: int, requests: int = 1) -> Allowance:
        """Count so many requests, all of them or none."""
        now = microseconds(self._clock())
        each = (FULL // per_minute or 1) * requests
        values = {"key": key_id, "now": now, "each": each}
        try:
            with self._engine.begin() as connection:
                full_at = connection.execute(self._count, values).scalar()
                if full_at is None:
                    full_at = connection.execute(_FULL_AT, {"key": key_id}).scalar_one()
                    return refusal(full_at, now, per_minute, requests)
        except (OperationalError, InterfaceError, PoolTimeout):
            return counted(0, now, per_minute, requests)[1]
        return counted(full_at - each, now, per_minute, requests)[1]


def microseconds(at: datetime) -> int:
    """An instant as whole microseconds of Unix time."""
    return int(at.timestamp()) * SECOND + at.microsecond
