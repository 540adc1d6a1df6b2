"""Pages of lists, newest first; what is added meanwhile never shifts a later page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Row, Select, Table, tuple_

from schemas.wire.page import Cursor

NOTHING: Mapping[str, Any] = {}


def newest_first(
    connection: Connection,
    statement: Select[Any],
    table: Table,
    limit: int,
    after: Cursor | None,
    values: Mapping[str, Any] = NOTHING,
    named: str = "id",
) -> tuple[Sequence[Row[Any]], Cursor | None]:
    """Return up to `limit` rows of a statement, and the cursor of the next page if there is one.

    Args:
        connection: where to ask.
        statement: selects the rows, with their `created_at` and their name.
        table: the table whose rows are listed.
        limit: the most rows of a page.
        after: the last row of the page before.
        values: the parameters of the statement.
        named: the column that decides between rows of one instant.
    """
    created, name = table.c.created_at, table.c[named]
    if after is not None:
        statement = statement.where(tuple_(created, name) < (after.created_at, after.id))
    statement = statement.order_by(created.desc(), name.desc()).limit(limit + 1)
    rows = connection.execute(statement, values).all()
    if len(rows) <= limit:
        return rows, None
    last = rows[limit - 1]
    return rows[:limit], Cursor(last.created_at, getattr(last, named))
