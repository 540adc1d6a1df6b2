"""Archived records as rows of a SQLite file, and back.

A column is a field of the record, under its name; documents are BLOBs of UTF-8, byte for byte as
they were stored. `papers` of a revision are pairs `kind:digest`, as in the service's database.

The last column of each row is the SHA-256 of its other values that are not NULL, in the order of
their names, each followed by a line end; so a damaged row is known. A paper's is that of its
document alone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from sqlite3 import Connection
from typing import Any, TypeVar

from msgspec import convert, to_builtins

from schemas.events.records import EventPlace, NewEvent, StoredEvent
from schemas.quotes.records import Paper, QuoteHead, Revision
from service.persistence.retention.records import Damaged, WholeQuote, WholeRevision

T = TypeVar("T")
Row = dict[str, Any]
DIGEST = "sha256"


def _columns(*kinds: type) -> list[str]:
    return [field.name for kind in kinds for field in fields(kind)]


TABLES = {
    "quotes": (["number", "revisions", *_columns(QuoteHead), DIGEST], "id"),
    "revisions": (
        ["quote_id", "number", "created_at", "choice", *_columns(Revision), DIGEST],
        "quote_id, number",
    ),
    "papers": (["document", DIGEST], DIGEST),
    "events": ([*_columns(EventPlace, NewEvent), DIGEST], "turn, id"),
}
"""The columns of each table, and its primary key."""
EVERY = {table: f"SELECT * FROM {table}" for table in TABLES}  # noqa: S608  # nosec B608
"""A query for all rows of each table."""
_INDEX = "CREATE INDEX IF NOT EXISTS quotes_by_serial ON quotes (serial)"


def make_tables(file: Connection) -> None:
    """Create the tables, or add the columns that a file of an earlier release lacks."""
    for table, (columns, key) in TABLES.items():
        file.execute(
            f"CREATE TABLE IF NOT EXISTS {table} ({', '.join(columns)}, PRIMARY KEY ({key}))"
        )
        there = {row["name"] for row in file.execute(f"PRAGMA table_info({table})")}
        for column in columns:
            if column not in there:
                file.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    file.execute(_INDEX)


def put(file: Connection, table: str, row: Row, over: str = "REPLACE") -> None:
    """Store a row with its digest, in place of one of the same key or (IGNORE) only without."""
    marked = {**row, DIGEST: _digest(row)}
    names, values = ", ".join(marked), ", ".join(f":{name}" for name in marked)
    sql = f"INSERT OR {over} INTO {table} ({names}) VALUES ({values})"  # noqa: S608 — of names
    file.execute(sql, marked)


def rows(file: Connection, query: str, *values: Any) -> Iterator[Row]:
    """Yield the rows of a query; a field that the file's release did not know is left out."""
    for row in file.execute(query, values):
        yield {name: row[name] for name in row.keys() if row[name] is not None}  # noqa: SIM118


def is_whole(row: Row) -> bool:
    """Return True if a row has the digest that was stored with it."""
    return _digest(row) == row.get(DIGEST)


def put_quote(file: Connection, quote: WholeQuote) -> None:
    """Store a quote, its revisions and their papers, unless a later version is there."""
    head = quote.head
    for known in rows(file, "SELECT version FROM quotes WHERE id = ?", head.id):
        if known["version"] > head.version:
            return
        file.execute("PRAGMA user_version = 1")
    file.execute("DELETE FROM revisions WHERE quote_id = ?", (head.id,))
    more = {"number": head.number, "revisions": len(quote.revisions)}
    put(file, "quotes", {**more, **_plain(head)})
    for revision in quote.revisions:
        put(file, "revisions", _revision_row(head.id, revision))
        for paper in revision.working.papers:
            put(file, "papers", {"document": paper.document}, "IGNORE")


def put_event(file: Connection, stored: StoredEvent) -> None:
    """Store an event."""
    put(file, "events", {**_plain(stored.place), **_plain(stored.event)})


def quote_of(file: Connection, row: Row) -> WholeQuote:
    """Return the quote of this row of `quotes`.

    Raises:
        Damaged: not all of it is whole.
    """
    found = rows(file, "SELECT * FROM revisions WHERE quote_id = ? ORDER BY number", row["id"])
    revisions = [_revision(each, _papers(file, each)) for each in found]
    if len(revisions) != _checked(row)["revisions"]:
        raise Damaged
    return _read({"head": row, "revisions": revisions}, WholeQuote)


def event_of(row: Row) -> StoredEvent:
    """Return the event of this row.

    Raises:
        Damaged: it is not whole.
    """
    return _read({"place": _checked(row), "event": row}, StoredEvent)


def _revision_row(quote_id: str, revision: WholeRevision) -> Row:
    row = _plain(revision)
    working = row.pop("working")
    working["papers"] = " ".join(f"{each.kind}:{each.digest}" for each in revision.working.papers)
    return {"quote_id": quote_id, **row, **working}


def _revision(row: Row, papers: Iterable[Paper]) -> Row:
    return {**_checked(row), "working": {**row, "papers": tuple(map(tuple, papers))}}


def _papers(file: Connection, revision: Row) -> Iterator[Paper]:
    for kind, _, digest in (each.partition(":") for each in revision["papers"].split()):
        found = [*rows(file, "SELECT * FROM papers WHERE sha256 = ?", digest)]
        if not found:
            raise Damaged
        yield Paper(kind, digest, _checked(found[0])["document"])


def _checked(row: Row) -> Row:
    if not is_whole(row):
        raise Damaged
    return row


def _digest(row: Mapping[str, Any]) -> str:
    if row.keys() <= {"document", DIGEST}:
        return hashlib.sha256(row["document"]).hexdigest()
    digest = hashlib.sha256()
    for name in sorted(row.keys() - {DIGEST}):
        if (value := row[name]) is not None:
            digest.update((value if isinstance(value, bytes) else str(value).encode()) + b"\n")
    return digest.hexdigest()


def _plain(record: object) -> Row:
    plain: Row = to_builtins(record, builtin_types=(bytes,))
    return plain


def _read(stored: Row, kind: type[T]) -> T:
    return convert(stored, kind, builtin_types=(bytes,))
