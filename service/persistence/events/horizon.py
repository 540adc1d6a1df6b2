"""The bound up to which the change feed can be read in PostgreSQL without missing later events.

A number is drawn when an event is stored, but the row appears at the commit, so number 7 may appear
after 8. A writer therefore declares a lower bound for its numbers first: the trigger `place_event`
reads the last number drawn, takes a shared advisory lock whose key carries that number, and only
then draws. The lock is held until the transaction ends. Its key also carries a 12-bit hash of the
shop, so that one shop's long import does not hold back another shop's events.

A reader asks for these in order, each in its own statement:

1. the last number drawn; 2. the lowest number carried by the locks held for the shop; 3. the events
up to the lower of the two.

Nothing at or below that bound can appear later. A writer whose lock is seen draws above its number.
A writer whose lock is not seen either took it after step 2, and draws above the number of step 1,
or had finished before step 2, and step 3 sees its rows, since PostgreSQL makes a commit visible
before it releases the locks. Step 3 must therefore see what was committed when it began, which a
transaction with a single snapshot would not.

Nobody waits for such a lock. Transactions that store no events, other databases and readers hold
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
"""The lock key is 1257 in 12 bits, the shop in 12, the number in 40.

Its upper half is `classid`.
"""
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
    """Return the condition for a shop's events before which no new event can appear.

    Raises:
        RuntimeError: the transaction has a single snapshot, for which no answer is safe.
    """
    if connection.get_execution_options().get("isolation_level") == KEEPS_ONE_VIEW:
        raise RuntimeError("the feed is read in a unit of work that follows it")
    drawn: int = connection.execute(_DRAWN).scalar_one()
    lowest: int | None = connection.execute(_LOWEST, {"shop_id": shop_id}).scalar_one()
    number = drawn if lowest is None else min(drawn, lowest)
    return tuple_(events.c.turn, events.c.id) <= tuple_(_TURN, literal(number))


def lag(connection: Connection) -> timedelta:
    """Return how long the oldest transaction that holds back events has been open."""
    found: timedelta = connection.execute(_LAG).scalar_one()
    return found
