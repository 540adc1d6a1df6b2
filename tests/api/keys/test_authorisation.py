"""Every route, every scope, and the records of another shop.

The rows are written down here, from the scopes of the wire contract, and the routes come from the
application itself: a route without a row fails, and so does a row without a route. What a view
declares is compared with its row, and requests show that it is kept. What is sent to
each is one of its published examples that succeeds, so a refusal is for the key and nothing else.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from werkzeug.test import TestResponse

from schemas.keys import SCOPES
from schemas.openapi.examples import examples
from service.api.application import create_app
from service.api.http.context import EXTENSION
from service.api.http.operation import OpenToAll, Operation, declared
from service.app.keys.access import create_key
from service.demo import demo_shop
from service.persistence.tables import metadata
from service.settings import Settings
from service.wiring import wire
from tests.api.contract import example_runs
from tests.api.demo_copies import SET
from tests.api.world import HandClock, World, make_world, problem_of

EVERY = "price counter bench reports admin"
COUNTER, BENCH, OFFICE = "counter admin", "counter bench admin", "counter reports admin"
PUBLIC = {
    "GET /": "the quote form; it gives out no more than its own key may see",
    "GET /docs": "the documentation",
    "GET /docs/assets/<release>/<name>": "its files",
    "GET /form/<release>/<name>": "the form's files",
    "GET /healthz": "for whoever watches the process",
    "GET /metrics": "counts without ids; deploy/THREATS.md says who must not reach it",
    "GET /openapi.json": "the contract",
    "GET /readyz": "for whoever balances the load",
    "GET /summary": "without a stay it is the form that asks for a key; test_summary.py tells more",
    "POST /summary": "takes the key from that form",
    "POST /summary/leave": "ends a stay",
}
"""Routes that take no key, and why."""
KINDS = ("mouldings", "boards", "glazing", "fillets", "hardware", "supplies")
OWN = {
    "POST /v1/estimates": "price counter admin",
    "POST /v1/estimates/sweep": "price counter admin",
    "POST /v1/estimates/bulk": "price counter admin",
    "POST /v1/quotes": "price counter admin",
    "GET /v1/coupons": COUNTER,
    "POST /v1/coupons": "admin",
    "GET /v1/coupons/<coupon>": COUNTER,
    "PUT /v1/coupons/<coupon>": "admin",
    "POST /v1/coupons/<coupon>/stop": "admin",
    "GET /v1/customers": COUNTER,
    "POST /v1/customers": COUNTER,
    "GET /v1/customers/<customer_id>": COUNTER,
    "PUT /v1/customers/<customer_id>": COUNTER,
    "POST /v1/customers/<customer_id>/merge": COUNTER,
    "GET /v1/customers/<customer_id>/export": COUNTER,
    "POST /v1/customers/<customer_id>/forget": "admin",
    "GET /v1/quotes": OFFICE,
    "GET /v1/quotes/<quote_id>": OFFICE,
    "GET /v1/quotes/<quote_id>/workings": OFFICE,
    "GET /v1/quotes/<quote_id>/drawing.svg": OFFICE,
    "GET /v1/quotes/<quote_id>/promise": COUNTER,
    "GET /v1/quotes/<quote_id>/from-rack": BENCH,
    "POST /v1/quotes/<quote_id>/issue": COUNTER,
    "POST /v1/quotes/<quote_id>/accept": COUNTER,
    "POST /v1/quotes/<quote_id>/decline": COUNTER,
    "POST /v1/quotes/<quote_id>/withdraw": COUNTER,
    "POST /v1/quotes/<quote_id>/collect": COUNTER,
    "POST /v1/quotes/<quote_id>/payments": COUNTER,
    "GET /v1/quotes/<quote_id>/payments": OFFICE,
    "POST /v1/cut-tickets/<ticket>/shelve": BENCH,
    "POST /v1/cut-tickets/<ticket>/collect": COUNTER,
    "POST /v1/quotes/<quote_id>/revisions": COUNTER,
    "GET /v1/quotes/<quote_id>/revisions": OFFICE,
    "GET /v1/quotes/<quote_id>/revisions/<revision>": OFFICE,
    "GET /v1/quotes/<quote_id>/revisions/<revision>/changes": OFFICE,
    "GET /v1/cut-tickets": BENCH,
    "GET /v1/cut-tickets/<ticket>": BENCH,
    "POST /v1/cut-tickets/<ticket>/start": BENCH,
    "POST /v1/cut-tickets/<ticket>/finish": BENCH,
    "POST /v1/cut-tickets/<ticket>/pieces/<piece>/start": BENCH,
    "POST /v1/cut-tickets/<ticket>/pieces/<piece>/finish": BENCH,
    "POST /v1/cut-tickets/<ticket>/pieces/<piece>/spoil": BENCH,
    "GET /v1/cutting-plans": BENCH,
    "POST /v1/cutting-plans": BENCH,
    "GET /v1/cutting-plans/<plan>": BENCH,
    "POST /v1/cutting-plans/<plan>/commit": BENCH,
    "POST /v1/cutting-plans/<plan>/undo": BENCH,
    "POST /v1/cutting-plans/<plan>/cancel": BENCH,
    "GET /v1/cutting-plans/<plan>/items/<int:item>/uses/<int:use>/drawing.svg": BENCH,
    "GET /v1/cutting-plans/<plan>/labels.pdf": BENCH,
    "GET /v1/offcuts": BENCH,
    "POST /v1/offcuts": BENCH,
    "PATCH /v1/offcuts/<offcut>": BENCH,
    "GET /v1/offcuts/<offcut>": BENCH,
    "GET /v1/offcuts/<offcut>/label.pdf": BENCH,
    "GET /v1/offcuts/<offcut>/label.svg": BENCH,
    "POST /v1/offcuts/<offcut>/discard": BENCH,
    "GET /v1/stock": BENCH,
    "GET /v1/stock/<item>": BENCH,
    "PUT /v1/stock/<item>": BENCH,
    **{f"GET /v1/{kind}": EVERY for kind in KINDS},
    **{f"GET /v1/{kind}/<code>": EVERY for kind in KINDS},
    **{f"POST /v1/{kind}": "admin" for kind in KINDS},
    **{f"PUT /v1/{kind}/<code>": "admin" for kind in KINDS},
    **{f"POST /v1/{kind}/<code>/discontinue": "admin" for kind in KINDS},
    **{f"POST /v1/{kind}/<code>/reinstate": "admin" for kind in KINDS},
    "GET /v1/costs/<code>": OFFICE,
    "PUT /v1/costs/<code>": "admin",
    "GET /v1/price-lists": OFFICE,
    "POST /v1/price-lists": "admin",
    "GET /v1/price-lists/<code>": OFFICE,
    "PUT /v1/price-lists/<code>": "admin",
    "DELETE /v1/price-lists/<code>": "admin",
    "POST /v1/price-lists/<code>/publish": "admin",
    "GET /v1/price-lists/<code>/check": OFFICE,
    "POST /v1/price-lists/<code>/compare": OFFICE,
    "GET /v1/labour-standards": "counter bench reports admin",
    "POST /v1/labour-standards": "admin",
    "GET /v1/labour-standards/<code>": "counter bench reports admin",
    "PUT /v1/labour-standards/<code>": "admin",
    "POST /v1/labour-standards/<code>/use": "admin",
    "GET /v1/shop": "counter bench reports admin",
    "PUT /v1/shop": "admin",
    **{
        f"GET /v1/reports/{name}": "reports admin"
        for name in (
            *("sales", "sales-by-component", "sales-by-item"),
            *("margins", "spoiled", "price-list-drift"),
        )
    },
    **{
        f"GET /v1/reports/{name}": "reports counter bench admin"
        for name in ("materials", "purchases", "cutting", "labour", "overdue")
    },
    "GET /v1/reports/payments": "reports admin",
    "GET /v1/reports/balances": "reports counter admin",
    "GET /v1/reports/uncollected": "reports counter bench admin",
    "GET /v1/events": OFFICE,
    "GET /v1/keys": "admin",
    "POST /v1/keys": "admin",
    "GET /v1/keys/<key>": "admin",
    "PATCH /v1/keys/<key>": "admin",
    "DELETE /v1/keys/<key>": "admin",
    "POST /v1/keys/<key>/rotate": "admin",
    "GET /v1/webhooks": "admin",
    "POST /v1/webhooks": "admin",
    "GET /v1/webhooks/<webhook>": "admin",
    "PATCH /v1/webhooks/<webhook>": "admin",
    "DELETE /v1/webhooks/<webhook>": "admin",
    "POST /v1/webhooks/<webhook>/rotate-secret": "admin",
    "POST /v1/webhooks/<webhook>/replay": "admin",
    "GET /v1/webhooks/<webhook>/messages": "admin",
    "GET /v1/webhooks/<webhook>/messages/<message>": "admin",
    "POST /v1/webhooks/<webhook>/messages/<message>/replay": "admin",
}
"""The scopes of every other route, as the contract gives them; `admin` has all."""
UNPUBLISHED: dict[str, tuple[str, str]] = {
    "GET /v1/quotes/<quote_id>/drawing.svg": ("get_by_number", "{path}/drawing.svg"),
    "GET /v1/offcuts/<offcut>/label.pdf": ("offcut_one", "{path}/label.pdf"),
    "GET /v1/offcuts/<offcut>/label.svg": ("offcut_one", "{path}/label.svg"),
    "GET /v1/cutting-plans/<plan>/labels.pdf": (
        "plan_undone",
        "/v1/cutting-plans/P100014/labels.pdf",
    ),
    "GET /v1/cutting-plans/<plan>/items/<int:item>/uses/<int:use>/drawing.svg": (
        "plan_one",
        "{path}/items/1/uses/1/drawing.svg",
    ),
    "DELETE /v1/keys/<key>": ("get_key", "{path}"),
    "DELETE /v1/price-lists/<code>": ("change_price_list", "{path}"),
    "DELETE /v1/webhooks/<webhook>": ("get_webhook", "{path}"),
}
"""Routes whose answer is no JSON, so no example is printed: another example's, and what is asked
beyond its path."""
READY = {"request": {"method": "GET", "path": "/healthz"}, "scope": None}
BARE = ("b" * 16, "b" * 43)
WITH_IDS = ("quotes", "cut_tickets", "cutting_plans", "offcuts", "webhook_endpoints", "api_keys")
NOT_OF_A_SHOP = ("rate_buckets", "idempotent_requests", "papers", "event_eras")


def _app() -> Any:
    return create_app(wire(Settings.read({"DATABASE_URL": "sqlite:////nowhere/at/all.sqlite3"})))


def _routes() -> Iterator[str]:
    for rule in APP.url_map.iter_rules():
        yield from (f"{method} {rule.rule}" for method in rule.methods - {"HEAD", "OPTIONS"})


APP = _app()
ROUTES = sorted(_routes())


def _examples() -> dict[str, dict[str, Any]]:
    """An example that succeeds for each route; the first by name."""
    address = APP.url_map.bind("localhost")
    found: dict[str, dict[str, Any]] = {}
    for example in examples().values():
        asked = example["request"]
        if example["status"] < 300 and "database" not in example:
            place = asked["path"].partition("?")[0]
            rule, _ = address.match(place, method=asked["method"], return_rule=True)
            found.setdefault(f"{asked['method']} {rule.rule}", example)
    for route, (name, path) in UNPUBLISHED.items():
        like = examples()[name]
        asked = like["request"]
        request = {"method": route.partition(" ")[0], "path": path.format(path=asked["path"])}
        request["headers"] = {"If-Match": "*"}
        status = 204 if route.startswith("DELETE") else 200
        found[route] = {**like, "request": request, "status": status}
    return found


EXAMPLES = _examples()


@dataclass(frozen=True)
class Mould:
    """A filled database from which each test gets a copy, and what goes with it."""

    path: Path
    world: World

    def cast(self, path: Path) -> World:
        """The same world over a copy of its database, with caches of its own."""
        shutil.copyfile(self.path, path)
        old, clock = self.world, HandClock()
        ids, words = (replace(each) for each in (old.wiring.new_id, old.wiring.key_words))
        settings = Settings.read({"DATABASE_URL": f"sqlite:///{path}", **SET})
        wiring = wire(settings, clock, ids, clock.monotonic, words)
        APP.extensions[EXTENSION] = wiring
        tokens = dict(old.tokens)
        return World(wiring, clock, APP.test_client(), old.shop_id, old.other_shop_id, tokens)


@pytest.fixture(scope="module")
def mould(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Mould:
    """The two shops of every world, and a bare one: it has a key, and nothing else."""
    path = tmp_path_factory.mktemp("mould") / "mould.sqlite3"
    shutil.copyfile(migrated_sqlite, path)
    made = make_world(f"sqlite:///{path}")
    with made.wiring.units.writing() as uow:
        bare = uow.shops.add("bare-shop", replace(demo_shop(), code="bare")).id
        issued = create_key(uow, bare, "bare", list(SCOPES), made.clock(), words=BARE)
        made.tokens["bare"] = issued.token
        uow.commit()
    made.wiring.close()
    return Mould(path, made)


@pytest.fixture
def own_world(mould: Mould, tmp_path: Path) -> Iterator[World]:
    """A world that a test may change."""
    made = mould.cast(tmp_path / "own.sqlite3")
    yield made
    made.wiring.close()


def _send(world: World, route: str, scope: str, **headers: str) -> TestResponse:
    """The example of a route, asked with this key; what comes before it is done already."""
    asked = dict(EXAMPLES[route]["request"])
    kept = {k: v for k, v in asked.get("headers", {}).items() if k != "Idempotency-Key"}
    asked["headers"] = {**kept, **headers}
    return example_runs.send(world, {"request": asked, "scope": scope})


def _kept(world: World) -> dict[str, list[Any]]:
    """Every row that belongs to the demo shop or to one of its records, but for uses of keys."""
    rows: dict[str, list[Any]] = {}
    with world.wiring.engine.connect() as connection:
        for table in metadata.sorted_tables:
            if table.name in NOT_OF_A_SHOP:
                continue
            statement = select(*(c for c in table.c if c.name != "last_used_at"))
            owner = table.c.id if table.name == "shops" else table.c.get("shop_id")
            if owner is not None:
                statement = statement.where(owner == world.shop_id)
            found = connection.execute(statement.order_by(*table.primary_key)).all()
            rows[table.name] = [tuple(row) for row in found]
    return rows


def _address(route: str) -> str:
    """The route with a word for each part that may be anything."""
    path = route.partition(" ")[2]
    return (
        path.replace("<int:item>", "1").replace("<int:use>", "1").replace("<", "").replace(">", "")
    )


def test_every_route_has_its_row_and_every_row_its_route() -> None:
    assert sorted({**OWN, **PUBLIC}) == ROUTES
    assert not set(OWN) & set(PUBLIC)
    assert all(" /v1/" in route for route in OWN)
    assert not any(" /v1/" in route for route in PUBLIC)
    assert {scope for row in OWN.values() for scope in row.split()} == set(SCOPES)


def test_every_view_declares_the_scopes_of_its_row() -> None:
    for rule in APP.url_map.iter_rules():
        found = declared(APP.view_functions[rule.endpoint])
        for method in rule.methods - {"HEAD", "OPTIONS"}:
            route = f"{method} {rule.rule}"
            if route in PUBLIC:
                assert isinstance(found, OpenToAll), route
            else:
                assert isinstance(found, Operation), route
                assert {*found.scopes, "admin"} == set(OWN[route].split()), route


@pytest.mark.parametrize("route", OWN)
def test_a_key_is_asked_for_before_anything_else(still_world: World, route: str) -> None:
    method, path = route.partition(" ")[0], _address(route)
    junk = {"data": b"\xff{", "content_type": "text/plain"}
    problem_of(still_world.ask(method, path, None), 401, "not_known")
    problem_of(still_world.ask(method, f"{path}?no=1", None, **junk), 401, "not_known")
    for scope in set(SCOPES) - set(OWN[route].split()):
        problem_of(still_world.ask(method, f"{path}?no=1", scope, **junk), 403, "not_allowed")


@pytest.mark.parametrize("route", OWN)
def test_who_may_do_what_and_to_whose_records(own_world: World, route: str) -> None:
    before = {k: v for k, v in EXAMPLES[route].items() if k in ("before", "delivers", "at")}
    example_runs.send(own_world, {**before, **READY})
    kept = _kept(own_world)
    for scope in set(SCOPES) - set(OWN[route].split()):
        problem_of(_send(own_world, route, scope), 403, "not_allowed")
        again = _send(own_world, route, scope, **{"Idempotency-Key": f"once-{scope}"})
        problem_of(again, 403, "not_allowed")
    _strange(_send(own_world, route, "bare"), own_world, route, kept)
    assert _kept(own_world) == kept
    for place, scope in enumerate(OWN[route].split()):
        answer = _send(own_world, route, scope)
        assert answer.status_code not in (401, 403, 500), (scope, answer.get_data(as_text=True))
        if place == 0:  # a second time it may be done already
            assert answer.status_code == EXAMPLES[route]["status"], answer.get_data(as_text=True)


def _strange(answer: TestResponse, world: World, route: str, kept: dict[str, list[Any]]) -> None:
    """The answer to a key of the bare shop: nothing of the demo shop is there for it."""
    if "<" in route:
        problem_of(answer, 404, "not_found")
    assert answer.status_code < 500
    text = answer.get_data(as_text=True)
    ids = {row[0] for table in WITH_IDS for row in kept[table]}
    assert not [each for each in (world.shop_id, *ids) if str(each) in text]
    if answer.is_json and "<" not in route and route.startswith("GET"):
        items = answer.get_json().get("items", [])
        assert len(items) == (1 if route == "GET /v1/keys" else 0)


def test_head_and_options_give_nothing_away(still_world: World) -> None:
    for route in OWN:
        if route.startswith("GET"):
            head = still_world.ask("HEAD", _address(route), None)
            assert (head.status_code, head.get_data()) == (401, b"")
        options = still_world.ask("OPTIONS", _address(route), None)
        assert (options.status_code, options.get_data()) == (200, b"")
