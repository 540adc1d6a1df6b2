"""A live service for tests that talk to it over HTTP as a stranger would."""

from __future__ import annotations

import os
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import requests

from service.app.keys.access import create_key
from service.demo import demo_shop
from service.persistence.sql.engine import database_url as parsed
from service.persistence.sql.engine import open_engine
from service.persistence.unit_of_work import UnitsOfWork
from service.wiring import utc_now
from tests.waiting import PATIENCE, wait_for


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def command(*arguments: str, **environment: str) -> str:
    """What a command of ours prints; it must end well."""
    done = subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def set_up(database_url: str) -> None:
    """Bring a database to this release, and the demo shop into it; a SQLite file is copied."""
    url = parsed(database_url)
    if url.get_backend_name() == "sqlite" and url.database:
        path = Path(url.database)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(_demo_file())
        return
    _load(database_url)


@cache
def _demo_file() -> bytes:
    with TemporaryDirectory(prefix="fq-demo-") as folder:
        path = Path(folder) / "demo.sqlite3"
        _load(f"sqlite:///{path}")
        connection = sqlite3.connect(path)
        try:
            return connection.serialize()
        finally:
            connection.close()


def _load(database_url: str) -> None:
    command("migrate", DATABASE_URL=database_url)
    command("load-demo", DATABASE_URL=database_url)


def new_key(database_url: str, *scopes: str) -> str:
    """Return the token of a new key of the demo shop, made without the time a command takes."""
    engine = open_engine(database_url)
    with UnitsOfWork(engine).writing() as uow:
        shop_id = uow.shops.by_code(demo_shop().code).id
        issued = create_key(uow, shop_id, "test", scopes, utc_now())
        uow.commit()
    engine.dispose()
    return issued.token


@dataclass(frozen=True)
class Served:
    """A service that answers: its address, its process, its log so far."""

    base: str
    process: subprocess.Popen[bytes]
    log: Path | None = None

    def lines(self) -> list[str]:
        """What it has logged."""
        return [] if self.log is None else self.log.read_text(encoding="utf-8").splitlines()


@contextmanager
def served(database_url: str, log: Path | None = None, **environment: str) -> Iterator[Served]:
    """The service over a database that is set up, on a port of its own unless PORT is said."""
    port = environment.get("PORT") or free_port()
    asked = {"DATABASE_URL": database_url, "PORT": str(port), "FRAMING_QUOTES_WORKERS": "1"}
    with ExitStack() as open_files:
        stderr = subprocess.DEVNULL if log is None else open_files.enter_context(log.open("wb"))
        process = subprocess.Popen(
            [sys.executable, "-m", "service", "serve"],
            env={**os.environ, **asked, **environment},
            stderr=stderr,
        )
        base = f"http://127.0.0.1:{port}"
        try:
            _wait_until_ready(base, process)
            yield Served(base, process, log)
        finally:
            process.terminate()
            process.wait(PATIENCE)


@contextmanager
def live_service(database_url: str) -> Iterator[str]:
    """The service with the demo shop, on a port of its own; gives its base address."""
    set_up(database_url)
    with served(database_url) as live:
        yield live.base


def _wait_until_ready(base: str, process: subprocess.Popen[bytes]) -> None:
    def ready() -> bool:
        assert process.poll() is None, "the service did not start"
        return requests.get(f"{base}/readyz", timeout=PATIENCE).ok

    wait_for(ready, requests.ConnectionError)
