"""State shared by the repositories of one unit of work: its connection and the changed shops."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite

from service.domain.errors import NotFound


@dataclass(frozen=True, slots=True)
class Session:
    """One connection inside one transaction.

    `changed` collects the shops whose book has changed; their versions are increased at the commit,
    so that no repository can forget it and many changes count as one. `known_papers` are the
    digests that this process has seen committed, and `new_papers` those stored in this transaction.
    """

    connection: Connection
    changed: set[str] = field(default_factory=set)
    known_papers: set[str] = field(default_factory=set)
    new_papers: set[str] = field(default_factory=set)

    def upsert(
        self,
        table: Table,
        rows: Sequence[dict[str, Any]],
        *,
        grows: str = "",
        keeps: tuple[str, ...] = (),
    ) -> None:
        """Insert rows, or replace all columns of those whose primary key exists.

        Args:
            table: the table.
            rows: the rows.
            grows: a column to increment in existing rows.
            keeps: columns to leave unchanged in existing rows.
        """
        if not rows:
            return
        dialect = postgresql if self.connection.dialect.name == "postgresql" else sqlite
        keys = [column.name for column in table.primary_key]
        statement = dialect.insert(table)
        same = (*keys, *keeps)
        others: dict[str, Any] = {n: statement.excluded[n] for n in rows[0] if n not in same}
        if grows:
            others[grows] = table.c[grows] + 1
        self.connection.execute(
            statement.on_conflict_do_update(index_elements=keys, set_=others), list(rows)
        )


def found(row: Any, what: str) -> Any:
    """Return the row, if there is one.

    Raises:
        NotFound: there is none.
    """
    if row is None:
        raise NotFound(f"this shop has no {what}")
    return row


class StorageUnavailable(Exception):
    """The database cannot be reached or is overloaded; nothing was stored, a retry may succeed."""


class OutcomeUnknown(StorageUnavailable):
    """The connection was lost during a commit: the transaction may be stored, or not.

    `waited` is for how many seconds the database was silent before.
    """

    def __init__(self, message: str, waited: float = 0.0) -> None:
        super().__init__(message)
        self.waited = waited


Clock = Callable[[], datetime]

IdSource = Callable[[], str]
