"""The service with the demo shop and a second shop in it, keys of every scope, and a clock."""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, ClassVar

from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import event, func, select
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from schemas.wire.problems import KINDS, TYPE
from service.api.application import create_app
from service.demo import demo_jobs
from service.persistence.tables import metadata
from service.settings import Settings
from service.wiring import Wiring, wire
from tests.api.demo_copies import SET, START, CountedIds, CountedKeys, put

STATUSES = {kind.code: kind.statuses for kind in KINDS}


@dataclass
class HandClock:
    """A clock that stands still until it is moved."""

    now: datetime = START

    def __call__(self) -> datetime:
        return self.now

    def monotonic(self) -> float:
        """The same clock for caches: they see time pass only where a test lets it."""
        return (self.now - START).total_seconds()

    def move(self, **by: float) -> None:
        self.now += timedelta(**by)


@dataclass
class World:
    """The service, its database, and callers."""

    wiring: Wiring
    clock: HandClock
    client: FlaskClient
    shop_id: str
    other_shop_id: str
    tokens: dict[str, str] = field(default_factory=dict)

    def ask(
        self, method: str, path: str, scope: str | None = "counter", **more: Any
    ) -> TestResponse:
        """One request; `scope` names the key, None sends none."""
        headers = dict(more.pop("headers", {}))
        if scope is not None:
            headers["Authorization"] = f"Bearer {self.tokens[scope]}"
        if "json" in more:
            more["data"] = json.dumps(more.pop("json"), default=str)
            more.setdefault("content_type", "application/json")
        return self.client.open(path, method=method, headers=headers, buffered=True, **more)

    def post(
        self, path: str, document: Any, scope: str | None = "counter", **more: Any
    ) -> TestResponse:
        """A document sent as JSON; text and bytes go as they are."""
        if isinstance(document, str | bytes):
            more.setdefault("content_type", "application/json")
            return self.ask("POST", path, scope, data=document, **more)
        return self.ask("POST", path, scope, json=document, **more)

    def rows(self) -> dict[str, int]:
        """How many rows each table holds."""
        with self.wiring.engine.connect() as connection:
            return {
                table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
                for table in metadata.sorted_tables
            }

    @contextmanager
    def statements(self) -> Any:
        """Gathers the statements that are sent to the database meanwhile."""
        seen: list[str] = []

        def note(*arguments: Any) -> None:
            seen.append(arguments[2])

        event.listen(self.wiring.engine, "before_cursor_execute", note)
        try:
            yield seen
        finally:
            event.remove(self.wiring.engine, "before_cursor_execute", note)


class CompiledOnce(Rule):
    """A route whose address builder is compiled once a process and not once an application.

    Compiling takes five sixths of the time of `create_app`, and tests make a thousand applications.
    """

    _compiled: ClassVar[dict[tuple[str, bool], Any]] = {}

    def _compile_builder(self, append_unknown: bool = True) -> Any:
        key = self.rule, append_unknown
        if key not in self._compiled:
            self._compiled[key] = super()._compile_builder(append_unknown)
        return self._compiled[key]


Flask.url_rule_class = CompiledOnce


def make_world(database_url: str, **set_too: str) -> World:
    """The service over a migrated, empty database, with two shops and their keys."""
    clock, loaded = HandClock(), put(database_url)
    ids, words = CountedIds(loaded.ids), CountedKeys(loaded.keys)
    settings = Settings.read({"DATABASE_URL": database_url, **SET, **set_too})
    wiring = wire(settings, clock, ids, clock.monotonic, words)
    client = create_app(wiring).test_client()
    return World(wiring, clock, client, loaded.shop_id, loaded.other_shop_id, dict(loaded.tokens))


def job(name: str = "harbour_etching") -> dict[str, Any]:
    """A demo document, its numbers as floats of JSON."""
    document: dict[str, Any] = json.loads(json.dumps(demo_jobs()[name], default=str))
    return document


def problem_of(answer: TestResponse, status: int, code: str) -> Mapping[str, Any]:
    """The problem document of an answer, held to what the contract says of it."""
    assert answer.status_code == status, answer.get_data(as_text=True)[:500]
    assert answer.content_type == "application/problem+json"
    document: Mapping[str, Any] = json.loads(answer.get_data())
    assert document["type"] == TYPE + code
    assert document["status"] == status
    assert status in STATUSES[code]
    assert document["title"]
    assert document["detail"]
    return document


def faults_of(answer: TestResponse) -> dict[str, str]:
    """The faults of a refused document: pointer to code."""
    document = problem_of(answer, 422, "job_refused")
    return {fault["pointer"]: fault["code"] for fault in document["errors"]}
