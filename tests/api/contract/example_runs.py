"""The published examples, sent to the demo shop: each is one request and the answer to it.

    python -m tests.api.contract.example_runs

writes the answers of today into the files; look at the difference before it is committed, since
callers read it as the contract.

A file holds `operation`, `summary`, the `scope` of the key (null: none), `request` (`method`,
`path`, `headers` besides the key, and `body`, or `text` that is no JSON, or `spaces` of them, or
`lines` of which each is a document or text) and the `status` that is meant;
`headers` and `answer` are written by the command. `before` names examples to run first, `at`
another time than `START`, and `database: "away"` says that it cannot be reached; `delivers` has
what is due sent first, to somebody who answers with that status.
"""

from __future__ import annotations

import json
import sys
import tempfile
from datetime import datetime
from pathlib import Path
from threading import Event
from typing import Any

from flask import Flask
from werkzeug.test import TestResponse

import schemas
from schemas.openapi.examples import examples
from service.api.application import create_app
from service.app.events.delivery import Outcome
from service.cli.deliver import Courier
from service.persistence.sql.engine import database_url
from service.persistence.sql.level import migrate
from service.settings import Settings
from service.wiring import wire
from tests.api.world import World, make_world

Example = dict[str, Any]
FOLDER = Path(schemas.__file__).parent / "examples"
HEADERS = ("Location", "Link", "ETag", "WWW-Authenticate", "Retry-After", "Accept", "Allow")
AGAIN = "python -m tests.api.contract.example_runs writes the examples anew"


def send(world: World, example: Example) -> TestResponse:
    """The answer to an example, in a world where nothing happened before it."""
    for name in example.get("before", ()):
        _send(world, examples()[name])
    if "delivers" in example:
        _deliver(world, example["delivers"])
    if "at" in example:
        world.clock.now = datetime.fromisoformat(example["at"])
    if example.get("database") == "away":
        world.client = _without_database().test_client()
    return _send(world, example)


def _send(world: World, example: Example) -> TestResponse:
    asked = example["request"]
    body: dict[str, Any] = {}
    if "body" in asked:
        body = {"json": asked["body"]}
    elif "lines" in asked:
        lines = (one if isinstance(one, str) else json.dumps(one) for one in asked["lines"])
        body = {"data": "\n".join(lines), "content_type": "application/x-ndjson"}
    elif "text" in asked or "spaces" in asked:
        text = asked["text"] if "text" in asked else " " * asked["spaces"]
        body = {"data": text, "content_type": asked.get("content_type", "application/json")}
    headers = asked.get("headers", {})
    return world.ask(asked["method"], asked["path"], example["scope"], headers=headers, **body)


def _deliver(world: World, status: int) -> None:
    courier = Courier(world.wiring, Event(), lambda *_: Outcome(status, "", 12))
    courier.run(once=True)
    courier.close()


def _without_database() -> Flask:
    settings = Settings.read({"DATABASE_URL": "sqlite:////nowhere/at/all.sqlite3"})
    return create_app(wire(settings))


def told(answer: TestResponse) -> Example:
    """What an example says of an answer."""
    headers = {name: answer.headers[name] for name in HEADERS if name in answer.headers}
    found: Example = {"status": answer.status_code}
    if headers:
        found["headers"] = headers
    if answer.mimetype == "application/x-ndjson":
        found["answer"] = [json.loads(line) for line in answer.get_data().splitlines()]
    else:
        found["answer"] = json.loads(answer.get_data())
    return found


def rewrite() -> None:
    """Run every example and write its answer into its file."""
    with tempfile.TemporaryDirectory() as folder:
        for name, example in examples().items():
            url = f"sqlite:///{folder}/{name}.sqlite3"
            migrate(database_url(url))
            world = make_world(url)
            fresh = {**example, **told(send(world, example))}
            world.wiring.close()
            if fresh["status"] != example["status"]:
                raise SystemExit(f"{name} is meant to give {example['status']}: {fresh['answer']}")
            text = json.dumps(fresh, ensure_ascii=False, indent=1) + "\n"
            (FOLDER / f"{name}.json").write_text(text, encoding="utf-8")
            sys.stdout.write(f"{name}: {fresh['status']}\n")


if __name__ == "__main__":
    rewrite()
