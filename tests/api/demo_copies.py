"""The two shops of every world and their keys: loaded once a process, then copied.

Loading takes some 250 ms. A SQLite file is copied in 1 ms; it is known by its bytes, so that only a
database that is just what the first one was becomes a copy. In PostgreSQL the rows are kept in a
schema of the same database and come back in 15 ms: `CREATE DATABASE … TEMPLATE` copies some 10 MB
of system tables each time, which takes longer than loading.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

from sqlalchemy import Connection, Engine, select, text

from schemas.keys import SCOPES
from service.app.keys.access import create_key
from service.cli.load_demo import load
from service.demo import demo_labour_standard, demo_price_list, demo_shop
from service.persistence.shop import shops
from service.persistence.sql.engine import database_url as parsed
from service.persistence.sql.engine import open_engine
from service.persistence.tables import metadata
from service.settings import Settings
from service.wiring import wire
from tests.databases import ERAS, at_once

START = datetime(2026, 11, 25, 15, 4, 5, tzinfo=UTC)
SET = {"FRAMING_QUOTES_WEBHOOK_SECRET": "0123456789abcdef0123456789abcdef"}
ASIDE = "demo_copy"
"""The schema in which PostgreSQL keeps the rows."""


@dataclass
class CountedIds:
    """Identifiers of the right form that are the same in every run."""

    given: int = 0

    def __call__(self) -> str:
        self.given += 1
        return f"019abcde-f000-7000-8000-{self.given:012x}"


@dataclass
class CountedKeys:
    """Ids and secrets of keys that are the same in every run."""

    given: int = 0

    def __call__(self) -> tuple[str, str]:
        self.given += 1
        return f"{self.given:016x}", f"{self.given:043d}"


@dataclass(frozen=True)
class Loaded:
    """What stands in the database: shops, tokens by scope, and how many ids and keys were given."""

    shop_id: str
    other_shop_id: str
    tokens: dict[str, str]
    ids: int
    keys: int


_files: dict[bytes, tuple[bytes, Loaded]] = {}
_databases: dict[str, Loaded] = {}


def put(database_url: str) -> Loaded:
    """Have the two shops in a migrated, empty database."""
    if parsed(database_url).get_backend_name() == "sqlite":
        return _into_file(database_url)
    engine = open_engine(database_url)
    try:
        return _into_postgres(database_url, engine)
    finally:
        engine.dispose()


def _load(database_url: str) -> Loaded:
    ids, words = CountedIds(), CountedKeys()
    settings = Settings.read({"DATABASE_URL": database_url, **SET})
    wiring = wire(settings, lambda: START, ids, lambda: 0.0, words)
    tokens: dict[str, str] = {}
    with wiring.units.writing() as uow:
        shop_id = load(uow, wiring)
        other = uow.shops.add("other-shop", replace(demo_shop(), code="elsewhere")).id
        uow.labour_standards.put(other, demo_labour_standard(), in_use=True)
        uow.price_lists.put(other, demo_price_list())
        uow.price_lists.publish(other, demo_price_list().code, START)
        for scope in SCOPES:
            tokens[scope] = create_key(uow, shop_id, scope, [scope], START, words=words()).token
        tokens["other"] = create_key(uow, other, "other", ["counter"], START, words=words()).token
        short = START + timedelta(hours=1)
        tokens["short"] = create_key(
            uow, shop_id, "short", ["counter"], START, short, words=words()
        ).token
        uow.commit()
    wiring.close()
    return Loaded(shop_id, other, tokens, ids.given, words.given)


def _into_file(database_url: str) -> Loaded:
    path = Path(parsed(database_url).database or "")
    before = sha256(path.read_bytes()).digest() if path.exists() else b""
    in_use = path.with_name(path.name + "-wal").exists()
    if before in _files and not in_use:
        content, loaded = _files[before]
        path.write_bytes(content)
        return loaded
    loaded = _load(database_url)
    if not in_use:
        connection = sqlite3.connect(path)
        _files[before] = connection.serialize(), loaded
        connection.close()
    return loaded


def _into_postgres(database_url: str, engine: Engine) -> Loaded:
    if database_url in _databases:
        with engine.begin() as connection:
            if connection.execute(select(shops.c.id)).first() is None:
                names = _kept(connection)
                at_once(connection, *(f"INSERT INTO {n} TABLE {ASIDE}.{n}" for n in names))
                return _databases[database_url]
    loaded = _load(database_url)
    with engine.begin() as connection:
        if database_url not in _databases:
            names = [table.name for table in metadata.sorted_tables if table.name != ERAS]
            copies = [f"CREATE TABLE {ASIDE}.{n} AS TABLE {n}" for n in names]
            at_once(connection, f"CREATE SCHEMA {ASIDE}", *copies)
            for name in names:
                if connection.execute(text(f"SELECT FROM {ASIDE}.{name}")).first() is None:
                    connection.execute(text(f"DROP TABLE {ASIDE}.{name}"))
            _databases[database_url] = loaded
    return loaded


def _kept(connection: Connection) -> list[str]:
    """The tables whose rows are kept aside, those first that others refer to."""
    found = text("SELECT tablename FROM pg_tables WHERE schemaname = :aside")
    names = set(connection.execute(found, {"aside": ASIDE}).scalars())
    return [table.name for table in metadata.sorted_tables if table.name in names]
