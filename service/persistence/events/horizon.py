"""How far the change feed can be read in PostgreSQL, so that nothing appears behind a reader.

A number is drawn when an event is stored and its row appears at the commit, so number 7 may appear
after 8. A writer therefore says beforehand above which number its own will be: the trigger
`place_event` looks which number was drawn last, takes a shared advisory lock whose key carries that
number, and only then draws. The lock is held until the transaction is over. It also carries the
shop (its hash, of 12 bits), so that a long import of one shop does not hold back another's events.

A reader asks in this order, each in a statement of its own:

1. which number was drawn last;
2. which locks of these are held for the shop, and the lowest number that they carry;
3. for the events up to the lower of both.

Nothing up to there can appear later. A writer whose lock is seen draws above its number. One whose
lock is not seen has either taken it after step 2, and draws above the number of step 1; or was over
before step 2, and step 3 sees its rows, since PostgreSQL shows a commit before it gives up the
locks.
Hence step 3 must see what was committed when it began: not in a transaction that keeps one view.

Nobody waits for such a lock. Transactions that store no events, other databases, and readers hold
nothing back.
"""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import ColumnElement, Connection, Interval, func, literal, select, text, tuple_

from service.persistence.events.tables import event_eras, events

_HELD = """
FROM pg_locks WHERE locktype = 'advisory' AND objsubid = 1
AND database = (SELECT oid FROM pg_database WHERE datname = current_database())
"""
"""The key is 1257 in 12 bits, the shop in 12, the number in 40; its upper half is the `classid`."""
_DRAWN = text("SELECT coalesce(pg_sequence_last_value('events_id_seq'), 0)")
_LOWEST = text(
    f"SELECT min(((classid::bigint & 255) << 32) | objid::bigint) {_HELD} "
    "AND classid::bigint >> 8 = (1257 << 12) | (hashtext(:shop_id) & 4095)"
)
_OLDEST = "SELECT coalesce(max(clock_timestamp() - xact_start), interval '0')"
_LAG = text(
    f"{_OLDEST} FROM pg_stat_activity WHERE pid IN "
    f"(SELECT pid {_HELD} AND classid::bigint >> 20 = 1257)"
).columns(lag=Interval)
_TURN = select(func.max(event_eras.c.turn)).scalar_subquery()
"""Of the present era: each has a greater one than that before it."""
KEEPS_ONE_VIEW = "REPEATABLE READ"


def decided(connection: Connection, shop_id: str) -> ColumnElement[bool]:
    """Return the condition for a shop's events before which none can appear any more.

    Raises:
        RuntimeError: the transaction keeps one view, in which no answer would be safe.
    """
    if connection.get_execution_options().get("isolation_level") == KEEPS_ONE_VIEW:
        raise RuntimeError("the feed is read in a unit of work that follows it")
    drawn: int = connection.execute(_DRAWN).scalar_one()
    lowest: int | None = connection.execute(_LOWEST, {"shop_id": shop_id}).scalar_one()
    number = drawn if lowest is None else min(drawn, lowest)
    return tuple_(events.c.turn, events.c.id) <= tuple_(_TURN, literal(number))


def lag(connection: Connection) -> timedelta:
    """Return for how long the oldest transaction has been open that holds back events."""
    found: timedelta = connection.execute(_LAG).scalar_one()
    return found
