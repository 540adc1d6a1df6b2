"""Statements compiled once for a database, then passed directly to its driver.

On every execution SQLAlchemy looks up the compiled statement, collects its parameters and wraps the
result, which takes several times as long as the driver needs for a row. That buys nothing for a
statement that never changes, and delays those waiting for this transaction. So the few statements
of the busiest path go to the driver's cursor; all others are executed in the ordinary way, and so
are these if an event listener is attached. Driver errors are raised as SQLAlchemy raises them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from typing import Any, NamedTuple

from sqlalchemy import Connection, Dialect, Executable
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.compiler import SQLCompiler

Process = Callable[[Any], Any]
Row = tuple[Any, ...]


class _Place(NamedTuple):
    """A parameter in the text: its name, its bind processor, and any constant value."""

    name: str
    process: Process | None
    constant: Any


class _Written(NamedTuple):
    """A statement compiled for one database."""

    text: str
    places: tuple[_Place, ...]
    positional: bool


class Prepared:
    """One statement; its results come as the driver returns them."""

    def __init__(self, statement: Executable) -> None:
        self._statement = statement
        self._written: dict[str, _Written] = {}

    def run(self, connection: Connection, values: Mapping[str, Any]) -> None:
        """Execute it with these values, which include all its parameters and may include others."""
        written, bound = self._bound(connection, values)
        to_driver(connection, written.text, bound)

    def first(self, connection: Connection, values: Mapping[str, Any]) -> Row | None:
        """Execute it and return the first row."""
        written, bound = self._bound(connection, values)
        return to_driver(connection, written.text, bound, fetches=True)

    def _bound(self, connection: Connection, values: Mapping[str, Any]) -> tuple[_Written, Any]:
        """Return the statement for this database, and its parameters in the driver's form."""
        dialect = connection.dialect
        written = self._written.get(dialect.name)
        if written is None:
            written = self._written[dialect.name] = _write(self._statement, dialect)
        bound = []
        for name, process, constant in written.places:
            value = values[name] if constant is None else constant
            bound.append(value if process is None else process(value))
        if written.positional:
            return written, tuple(bound)
        names = [place.name for place in written.places]
        return written, dict(zip(names, bound, strict=True))


def to_driver(
    connection: Connection, text: str, bound: Any = (), *, fetches: bool = False
) -> Row | None:
    """Pass a statement to the driver's cursor.

    Return the first row, if it fetches and there is one.

    Raises:
        DBAPIError: the driver's error, wrapped as SQLAlchemy does.
    """
    if connection.engine.dispatch.before_cursor_execute:
        result = connection.exec_driver_sql(text, bound)
        return result.first() if fetches else None
    dialect = connection.dialect
    try:
        cursor = connection.connection.cursor()
        try:
            with _with_begin(connection):
                cursor.execute(text, bound)
            return cursor.fetchone() if fetches else None
        finally:
            cursor.close()
    except dialect.loaded_dbapi.Error as error:
        broken = dialect.is_disconnect(error, connection.connection.dbapi_connection, None)
        if broken:
            connection.invalidate(error)
        raise DBAPIError.instance(
            text,
            None,  # never show stored values in a message
            error,
            dialect.loaded_dbapi.Error,
            connection_invalidated=broken,
            dialect=dialect,
        ) from error


def _with_begin(connection: Connection) -> AbstractContextManager[Any]:
    """Have psycopg send BEGIN with the first statement of a transaction, in one round trip."""
    driver: Any = connection.connection.dbapi_connection
    if connection.dialect.name != "postgresql" or driver.autocommit:
        return nullcontext()
    begun = driver.info.transaction_status.name != "IDLE"
    return nullcontext() if begun else driver.pipeline()


def _write(statement: Executable, dialect: Dialect) -> _Written:
    compiled = statement.compile(dialect=dialect)  # type: ignore[attr-defined]
    if not isinstance(compiled, SQLCompiler):
        raise TypeError("only a statement with parameters can be prepared")
    places = {}
    for parameter, name in compiled.bind_names.items():
        process = parameter.type.dialect_impl(dialect).bind_processor(dialect)
        places[name] = _Place(name, process, None if parameter.required else parameter.value)
    order = places if compiled.positiontup is None else compiled.positiontup
    return _Written(compiled.string, tuple(places[n] for n in order), compiled.positional)
