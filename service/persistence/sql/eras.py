"""Eras: stretches of the change feed, one per run of the database server.

A cursor is kept outside the database, and may have read further than a copy of it knows: events
after a dump, or not yet replicated to a standby. The numbers of such events are reused after the
copy takes over. So every run of a PostgreSQL server on a database begins an era, whose `turn`
precedes the number in every place of the feed; it is taken from the clock and exceeds the previous
one. New events therefore come after whatever a cursor has read, in this history or a lost one.

A run is the database within its cluster plus the server's start time. A restored dump is a
different database; a copied data folder, an upgrade, a promoted standby and a plain restart are
different runs. A connection ends with the server, so it only needs a check when it is opened.
"""

from __future__ import annotations

import logging
from typing import Any

from sqlalchemy import Engine, event

_log = logging.getLogger("service.eras")
_RUN = (
    "(SELECT oid FROM pg_database WHERE datname = current_database())::text || ' ' || "
    "to_char(pg_postmaster_start_time() AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI:SS.US')"
)
_LAST_RUN = "(SELECT run FROM event_eras ORDER BY era DESC LIMIT 1)"
_LOOK = f"SELECT pg_is_in_recovery(), {_LAST_RUN} IS NOT DISTINCT FROM {_RUN}"  # noqa: S608 — of constants  # nosec B608
_ALONE = "LOCK TABLE events IN SHARE ROW EXCLUSIVE MODE"
"""Waits for open transactions that stored an event, and keeps others from beginning an era."""
_BEGIN = f"""
INSERT INTO event_eras (era, begun_at, turn, run)
SELECT coalesce(max(era), 0) + 1, now(), greatest(
    coalesce(max(turn), 0) + 1, (extract(epoch FROM clock_timestamp()) * 1000000)::bigint
), {_RUN}
FROM event_eras HAVING {_LAST_RUN} IS DISTINCT FROM {_RUN}
RETURNING era
"""  # noqa: S608 — of constants  # nosec B608
_NUMBERS = """
SELECT setval('events_id_seq', max(id)) FROM events
HAVING max(id) > coalesce(pg_sequence_last_value('events_id_seq'), 0)
"""
"""Some ways to copy a database copy the rows but not the sequence."""


def keep_eras(engine: Engine) -> None:
    """Check every new connection to PostgreSQL, and begin an era if one is due.

    A connection to a standby is refused with the driver's `OperationalError`: it takes no writes,
    and would be in another run, unnoticed, once the standby is promoted.
    """
    dbapi = engine.dialect.loaded_dbapi

    @event.listens_for(engine, "connect")
    def look(connection: Any, _record: Any) -> None:
        connection.autocommit = True  # one round trip if there is nothing to do
        try:
            standby, same = connection.execute(_LOOK).fetchone()
        except (dbapi.errors.UndefinedTable, dbapi.errors.UndefinedColumn):
            return  # not migrated yet; the migration begins an era
        else:
            if standby:
                raise dbapi.OperationalError("the database is a standby, which takes no writes")
            if not same:
                _begin(connection)
        finally:
            connection.autocommit = False


def _begin(connection: Any) -> None:
    """Begin an era, unless another connection has done so meanwhile."""
    with connection.transaction():
        connection.execute(_ALONE)
        begun = connection.execute(_BEGIN).fetchone()
        if begun is not None:
            connection.execute(_NUMBERS)
    if begun is not None:
        _log.info("the database server is in another run: era %d of the change feed begins", *begun)
