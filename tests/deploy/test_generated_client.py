"""A client that a stranger's generator makes from the contract, against a live service.

openapi-python-client reads the kept document and nothing else of ours. It must make sense of all of
it, read every published example, and take a job from its price to the bench and off it again.
"""

from __future__ import annotations

import importlib
import json
import pkgutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from types import ModuleType
from typing import Any, get_args

import httpx
import pytest

import schemas
from schemas.openapi.examples import examples
from service.demo import demo_jobs
from tests.deploy.live import live_service, new_key

CONTRACT = Path(schemas.__file__).with_name("openapi.json")
NAME = "client_made_from_the_contract"
SETTINGS = {
    # the generator knows few kinds of content; of these it is told what they are like
    "content_type_overrides": {
        "image/svg+xml": "text/plain",
        "application/pdf": "application/octet-stream",
        "application/x-ndjson": "application/octet-stream",
    }
}
JOB = json.loads(json.dumps(demo_jobs()["harbour_etching"], default=str))


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ModuleType]:
    """The package that the generator makes; it may complain of nothing."""
    folder = tmp_path_factory.mktemp("generated")
    settings = folder / "settings.json"
    settings.write_text(json.dumps({**SETTINGS, "post_hooks": []}), encoding="utf-8")
    asked = ("generate", "--path", str(CONTRACT), "--output-path", str(folder / NAME))
    how = ("--meta", "none", "--config", str(settings), "--fail-on-warning")
    made = subprocess.run(
        [sys.executable, "-m", "openapi_python_client", *asked, *how],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert made.returncode == 0, made.stdout + made.stderr
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(folder))
        yield importlib.import_module(NAME)
        for name in [name for name in sys.modules if name.partition(".")[0] == NAME]:
            del sys.modules[name]


@pytest.fixture(scope="module")
def operations(client: ModuleType) -> dict[str, ModuleType]:
    """The generated operations by their ids."""
    found: dict[str, ModuleType] = {}
    for tag in pkgutil.iter_modules(importlib.import_module(f"{NAME}.api").__path__):
        place = f"{NAME}.api.{tag.name}"
        for operation in pkgutil.iter_modules(importlib.import_module(place).__path__):
            found[operation.name] = importlib.import_module(f"{place}.{operation.name}")
    return found


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    url = f"sqlite:///{tmp_path_factory.mktemp('stranger') / 'stranger.sqlite3'}"
    with live_service(url) as base:
        yield base, url


def test_every_operation_is_there(operations: dict[str, ModuleType]) -> None:
    document = json.loads(CONTRACT.read_text(encoding="utf-8"))
    named = {
        operation["operationId"]
        for item in document["paths"].values()
        for method, operation in item.items()
        if method != "parameters"
    }
    assert set(operations) == named


def test_every_example_is_read_and_written_back_as_it_was(
    client: ModuleType, operations: dict[str, ModuleType]
) -> None:
    asks = client.AuthenticatedClient("http://127.0.0.1", "t", raise_on_unexpected_status=True)
    for name, example in examples().items():
        if not isinstance(example["answer"], dict):
            continue  # lines of text are bytes to it
        operation = operations[example["operation"]]
        got = httpx.Response(example["status"], json=example["answer"])
        read = operation._parse_response(client=asks, response=got)
        assert _plain(read.to_dict()) == _plain(example["answer"]), name
        if "body" in example["request"] and example["status"] < 300:
            body = example["request"]["body"]
            kind = operation._get_kwargs.__annotations__["body"]
            written = [_written(each, body) for each in (get_args(kind) or (kind,))]
            assert _plain(body) in written, name


def _written(kind: Any, body: Any) -> Any:
    try:
        return _plain(kind.from_dict(body).to_dict())
    except (AttributeError, KeyError):
        return None  # one of several that the operation takes; nothing is one of them too


def _plain(part: Any) -> Any:
    """The same with instants as instants: the client writes them with an offset in place of Z."""
    if isinstance(part, dict):
        return {name: _plain(inner) for name, inner in part.items()}
    if isinstance(part, list):
        return [_plain(inner) for inner in part]
    if isinstance(part, str) and part[10:11] == "T" and part[:2] == "20":
        return datetime.fromisoformat(part)
    return part


def test_it_takes_a_job_from_its_price_to_the_bench_and_off_it(
    client: ModuleType, operations: dict[str, ModuleType], live: tuple[str, str]
) -> None:
    base, url = live

    def asks(*scopes: str) -> Any:
        token = new_key(url, *scopes)
        return client.AuthenticatedClient(base, token, raise_on_unexpected_status=True)

    def call(operation: str, *path: str, by: Any, **more: Any) -> tuple[Any, str]:
        answer = operations[operation].sync_detailed(*path, client=by, **more)
        assert answer.status_code < 300, answer.content
        return answer.parsed, answer.headers.get("ETag", "")

    models = importlib.import_module(f"{NAME}.models")
    request = models.QuoteRequest.from_dict(JOB)
    form, counter, bench = asks("price"), asks("counter"), asks("bench")
    with form, counter, bench:
        estimate, _ = call("create_estimate", by=form, body=request)
        assert estimate.totals.total == "330.44"  # the README's console example
        draft, _ = call("create_quote", by=form, body=request, idempotency_key="form-1")
        again, _ = call("create_quote", by=form, body=request, idempotency_key="form-1")
        assert (draft.number, draft.status) == (again.number, "draft")
        seen, tag = call("get_quote", draft.number, by=counter)
        assert seen.totals.total == estimate.totals.total
        nothing = models.Nothing()
        issued, tag = call("issue_quote", seen.id, by=counter, body=nothing, if_match=tag)
        accepted, _ = call(
            "accept_quote", issued.id, by=counter, body=models.Accept(), if_match=tag
        )
        assert accepted.status == "accepted"
        (row,) = accepted.tickets
        ticket, tag = call("get_ticket", row.number, by=bench)
        rails = [piece for piece in ticket.pieces if piece.part == "rail"]
        assert {rail.length.in_ for rail in rails} == {"24.75", "28.875"}  # the worked example
        begun, tag = call("start_ticket", ticket.id, by=bench, body=nothing, if_match=tag)
        done, _ = call("finish_ticket", begun.id, by=bench, body=nothing, if_match=tag)
        assert done.status == "done"
        feed, _ = call("list_events", by=counter, subject_id=draft.id)
        kinds = [event.kind for event in feed.items]
        assert kinds[:1] == ["quote.created"]
        assert "quote.accepted" in kinds


def test_it_is_told_what_is_wrong(
    client: ModuleType, operations: dict[str, ModuleType], live: tuple[str, str]
) -> None:
    base, url = live
    models = importlib.import_module(f"{NAME}.models")
    wrong = {**JOB, "jobs": [{**JOB["jobs"][0], "overlap": "9"}]}
    with client.AuthenticatedClient(base, new_key(url, "price")) as asks:
        told = operations["create_estimate"].sync(
            client=asks, body=models.QuoteRequest.from_dict(wrong)
        )
    assert isinstance(told, models.Problem)
    assert told.errors[0].pointer == "/jobs/0/overlap"
