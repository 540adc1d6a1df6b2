"""Statements that are written for a database once and then handed to its driver as they are.

SQLAlchemy looks a statement up among those it has compiled every time, and gathers its parameters
anew; that takes several times as long as the driver needs for a row. It is worth nothing where a
statement never changes, and costs others their time where they wait for this transaction to end. So
the few statements of the busiest path are prepared; all others are executed in the ordinary way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from sqlalchemy import Connection, CursorResult, Dialect, Executable
from sqlalchemy.sql.compiler import SQLCompiler

Process = Callable[[Any], Any]


class _Place(NamedTuple):
    """A parameter in the text: its name, how its value is bound, and a value it always has."""

    name: str
    process: Process | None
    constant: Any


class _Written(NamedTuple):
    """A statement in a database's own words."""

    text: str
    places: tuple[_Place, ...]
    positional: bool


class Prepared:
    """One statement; its results come as the driver gives them."""

    def __init__(self, statement: Executable) -> None:
        self._statement = statement
        self._written: dict[str, _Written] = {}

    def execute(self, connection: Connection, values: Mapping[str, Any]) -> CursorResult[Any]:
        """Execute it with these values, which have all its parameters and may have others."""
        dialect = connection.dialect
        written = self._written.get(dialect.name)
        if written is None:
            written = self._written[dialect.name] = _write(self._statement, dialect)
        bound = []
        for name, process, constant in written.places:
            value = values[name] if constant is None else constant
            bound.append(value if process is None else process(value))
        if written.positional:
            return connection.exec_driver_sql(written.text, tuple(bound))
        names = [place.name for place in written.places]
        return connection.exec_driver_sql(written.text, dict(zip(names, bound, strict=True)))


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
