"""How often an answer asks the database: as often for two hundred rows as for one."""

from __future__ import annotations

import pytest

from schemas.openapi.examples import examples
from tests.api.contract import example_runs
from tests.api.world import World, job

LISTS = (
    "/v1/quotes",
    "/v1/cut-tickets",
    "/v1/cutting-plans",
    "/v1/offcuts",
    "/v1/events",
    "/v1/boards",
    "/v1/mouldings",
)
WHOLE = ("/v1/keys", "/v1/webhooks", "/v1/price-lists", "/v1/labour-standards", "/v1/stock")
MOST = 8
"""Statements of one answer, the look at its key among them."""


def _asked(world: World, path: str) -> tuple[int, int]:
    """The statements that one answer took, and how many rows it has."""
    world.ask("GET", path, "admin")  # the key's use is noted, and the book is there
    with world.statements() as seen:
        answer = world.ask("GET", path, "admin")
    assert answer.status_code == 200, answer.get_json()
    return len(seen), len(answer.get_json()["items"])


@pytest.fixture
def busy(world: World) -> World:
    """A shop in which several of everything happened."""
    for name in ("quote_small", "quote_accepted", "plan_stored", "plan_committed", "offcut_added"):
        example_runs.send(world, {**examples()[name], "before": ()})
    for _ in range(4):
        quote = world.post("/v1/quotes", job()).get_json()["id"]
        done = world.post(f"/v1/quotes/{quote}/accept", {}, headers={"If-Match": "*"})
        assert done.status_code == 200
    return world


def test_a_list_of_many_asks_no_more_than_a_list_of_one(busy: World) -> None:
    for path in LISTS:
        (few, one), (many, all_) = (_asked(busy, f"{path}?limit={n}") for n in (1, 200))
        assert one == 1 <= all_, path
        assert many <= few + 1 <= MOST, path
        assert all_ > 1 or path == "/v1/cutting-plans", path


def test_whole_lists_ask_little(busy: World) -> None:
    for path in WHOLE:
        assert _asked(busy, path)[0] <= MOST, path


def test_a_stored_quote_takes_few_statements_whatever_its_jobs(world: World) -> None:
    counts = []
    for many in (1, 10):
        document = job()
        document["jobs"] *= many
        world.post("/v1/quotes", document)
        with world.statements() as seen:
            assert world.post("/v1/quotes", document).status_code == 201
        counts.append(len(seen))
    assert counts[0] == counts[1] <= MOST
