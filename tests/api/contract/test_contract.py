"""The service held to its own contract by schemathesis, on both databases, every check on.

Some cases of each operation, the same in every run, so that it stays quick: of the cases that
schemathesis finds at the borders of a shape every so-manieth, and a few by chance.
`python -m tests.faults.contract` asks for all of them.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from itertools import islice
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given
from hypothesis import settings as chance
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig
from schemathesis.schemas import APIOperation, BaseSchema

from service.cli.contract import openapi_document
from service.persistence.tables import metadata
from tests.api.contract.exceptions import settings, things
from tests.api.world import World, make_world

METHODS = ("get", "post", "put", "patch", "delete")
OPERATIONS = [
    (method, path)
    for path, item in openapi_document()["paths"].items()
    for method in METHODS
    if method in item
]
AT_BORDERS, BY_CHANCE = 6, 2
FEW = chance(
    max_examples=BY_CHANCE,
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(
    scope="module", params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]
)
def shop(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[World]:
    """The service without limits, over an own database of each kind."""
    if request.param == "sqlite":
        path = tmp_path_factory.mktemp("contract") / "contract.sqlite3"
        shutil.copyfile(request.getfixturevalue("migrated_sqlite"), path)
        url = f"sqlite:///{path}"
    else:
        url = request.getfixturevalue("migrated_postgres")
    # nobody unpacks an answer here before it is checked
    no_limits = {"FRAMING_QUOTES_RATE_PER_MINUTE": "0", "FRAMING_QUOTES_GZIP_FROM": "0"}
    made = make_world(url, **no_limits)
    yield made
    with made.wiring.engine.begin() as connection:
        for table in reversed(metadata.sorted_tables):
            connection.execute(table.delete())
    made.wiring.close()


@pytest.fixture(scope="module")
def contract(shop: World) -> BaseSchema:
    def post(path: str, document: Mapping[str, Any], headers: Mapping[str, str]) -> Any:
        answer = shop.post(path, document, "admin", headers=headers)
        assert answer.status_code < 300, answer.get_data(as_text=True)
        return answer.get_json()

    config = SchemathesisConfig.from_str(settings(things(post)))
    application = shop.client.application
    return schemathesis.openapi.from_wsgi("/openapi.json", application, config=config)


@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_an_operation_keeps_the_contract(
    shop: World, contract: BaseSchema, method: str, path: str
) -> None:
    asked: APIOperation[Any, Any, Any, Any] = contract[path][method]
    key = {"Authorization": f"Bearer {shop.tokens['admin']}"}
    every = list(
        contract.iter_coverage_cases(
            asked,
            generation_modes=list(GenerationMode),
            generation_config=contract.config.generation,
        )
    )
    for case in islice(every, 0, None, max(1, len(every) // AT_BORDERS)):
        case.call_and_validate(headers=key)
    for mode in GenerationMode:

        @FEW
        @given(asked.as_strategy(generation_mode=mode))
        def by_chance(case: schemathesis.Case) -> None:
            case.call_and_validate(headers=key)

        with nothing_to_spoil(mode):
            by_chance()


@contextmanager
def nothing_to_spoil(mode: GenerationMode) -> Iterator[None]:
    """An operation that takes nothing can be asked in no wrong way."""
    try:
        yield
    except Unsatisfiable:
        assert mode is GenerationMode.NEGATIVE


def test_one_thing_after_the_other_keeps_the_contract(shop: World, contract: BaseSchema) -> None:
    """What one answer tells is asked for next, by the links that schemathesis finds by itself."""
    key = {"Authorization": f"Bearer {shop.tokens['admin']}"}

    class Steps(contract.as_state_machine()):  # type: ignore[misc]
        def get_call_kwargs(self, case: schemathesis.Case) -> dict[str, Any]:
            return {"headers": key}

        def validate_response(self, response: Any, case: schemathesis.Case, **more: Any) -> None:
            # the headers by name too: schemathesis would take the key for one that it made up
            sent = {"headers": key, "transport_kwargs": {"headers": key}}
            case.validate_response(response, recorder=self.recorder, **sent)

    Steps.run(settings=chance(FEW, max_examples=8, stateful_step_count=5))
