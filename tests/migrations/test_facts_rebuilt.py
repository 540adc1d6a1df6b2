"""Facts of what was sold before facts were kept: worked out from the stored answers, the same.

The facts that accepting a quote notes are the reference; they are taken away and made anew.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine, delete, select, update

from service.persistence.quotes import quotes
from service.persistence.reports.facts import sale_materials, sale_parts, sales
from service.persistence.shop import counters
from service.persistence.sql.level import migrate, take_back
from tests.api.world import World, job, make_world

ANY = {"If-Match": "*"}
BEFORE = "0008"
STORED = datetime(2025, 6, 1, 9, tzinfo=UTC)
OTHER = "stacked_poster"
FACTS = (sales, sale_parts, sale_materials)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def own_world(request: pytest.FixtureRequest, tmp_path: Any) -> Any:
    """The service over a database that may be migrated up and down."""
    if request.param == "sqlite":
        url = f"sqlite:///{tmp_path / 'facts.sqlite3'}"
    else:
        url = request.getfixturevalue("fresh_postgres")
    from service.persistence.sql.engine import database_url  # noqa: PLC0415 — beside its use

    migrate(database_url(url))
    world = make_world(url)
    yield world
    world.wiring.close()


def _accepted(world: World, document: dict[str, Any]) -> str:
    made = world.post("/v1/quotes", document, "admin")
    assert made.status_code == 201, made.get_json()
    place = f"/v1/quotes/{made.get_json()['id']}"
    world.clock.move(minutes=3)
    done = world.post(f"{place}/accept", {}, headers=ANY)
    assert done.status_code == 200, done.get_json()
    return place


def _variety(world: World) -> None:
    """Sales with every kind of discount, a fee, several jobs, no tax, one taken back."""
    plain = job()
    many = {**job(), "jobs": [{**job()["jobs"][0], "quantity": 12}, job(OTHER)["jobs"][0]]}
    own = {
        **job(),
        "wanted_by": "2099-12-31",
        "jobs": [
            {
                **job()["jobs"][0],
                "fees": ["rush"],
                "discounts": [
                    {"reason": "A dent", "amount": "7.77", "component": "frame"},
                    {"reason": "A friend", "percent": "3.3"},
                ],
            }
        ],
        "discounts": [{"reason": "The week's", "percent": "11"}],
    }
    exempt = {**job(), "tax_exempt": "Resale"}
    for document in (plain, many, own, exempt):
        _accepted(world, document)
    back = _accepted(world, plain)
    world.clock.move(hours=1)
    assert world.post(f"{back}/withdraw", {}, headers=ANY).status_code == 200


def _facts(engine: Engine) -> list[list[tuple[Any, ...]]]:
    with engine.connect() as connection:
        return [
            sorted((tuple(row) for row in connection.execute(select(table))), key=repr)
            for table in FACTS
        ]


def _forgotten_and_rebuilt(world: World) -> None:
    engine = world.wiring.engine
    with engine.begin() as connection:
        for table in reversed(FACTS):
            connection.execute(delete(table))
    take_back(engine.url, BEFORE)
    migrate(engine.url)


def test_facts_are_those_that_were_noted(own_world: World) -> None:
    _variety(own_world)
    noted = _facts(own_world.wiring.engine)
    assert len(noted[0]) == 5
    _forgotten_and_rebuilt(own_world)
    assert _facts(own_world.wiring.engine) == noted


def test_prices_that_hold_their_tax(own_world: World) -> None:
    shop = own_world.ask("GET", "/v1/shop", "admin")
    taxation = shop.get_json()["taxation"]
    change = {**shop.get_json(), "taxation": {**taxation, "included": True}}
    headers = {"If-Match": shop.headers["ETag"]}
    changed = own_world.ask("PUT", "/v1/shop", "admin", json=change, headers=headers)
    assert changed.status_code == 200, changed.get_json()
    _variety(own_world)
    noted = _facts(own_world.wiring.engine)
    _forgotten_and_rebuilt(own_world)
    assert _facts(own_world.wiring.engine) == noted


def test_facts_that_are_there_are_left_alone(own_world: World) -> None:
    _accepted(own_world, job())
    engine = own_world.wiring.engine
    with engine.begin() as connection:
        connection.execute(update(sales).values(total_minor=1))
    noted = _facts(engine)
    take_back(engine.url, BEFORE)
    migrate(engine.url)
    assert _facts(engine) == noted


def test_instants_go_on_behind_those_that_are_stored(own_world: World) -> None:
    place = _accepted(own_world, job())
    engine = own_world.wiring.engine
    take_back(engine.url, BEFORE)
    with engine.begin() as connection:
        change = update(quotes).values(created_at=STORED, updated_at=STORED - timedelta(hours=1))
        connection.execute(change)
    migrate(engine.url)
    shown = own_world.ask("GET", place).get_json()
    assert shown["updated_at"] == shown["created_at"]
    with engine.connect() as connection:
        mine = counters.c.shop_id == own_world.shop_id, counters.c.series == "quote"
        kept = connection.execute(select(counters.c.stamped_at).where(*mine)).scalar_one()
    assert kept == STORED
