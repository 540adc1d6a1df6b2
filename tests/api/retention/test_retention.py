"""Keeping only what is needed: what goes, what stays, and who is forgotten."""

from __future__ import annotations

from typing import Any

from click.testing import CliRunner
from sqlalchemy import select

from schemas.openapi.examples import examples
from service.app.retention import Erased, Forgotten, Terms, forget, tidy
from service.cli.main import main
from service.persistence.keys.idempotency import idempotent_requests
from service.persistence.keys.keyring import api_keys
from service.persistence.quotes import quote_revisions, quotes
from service.persistence.retention.customers import without_customer
from tests.api.world import World, job

FOR_EVER = Terms(0, 0, 0)
ANY = {"If-Match": "*"}
OKAFOR = "m.okafor@example.com"


def _quote(world: World, scope: str = "counter", **customer: str) -> str:
    document = {**job(), "customer": customer or {"name": "M. Okafor", "email": OKAFOR}}
    headers = {"Idempotency-Key": f"made-{world.rows()['quotes']}-{world.clock().timestamp()}"}
    made = world.post("/v1/quotes", document, scope, headers=headers)
    assert made.status_code == 201, made.get_json()
    return str(made.get_json()["id"])


def _pressed(world: World, quote: str, action: str) -> None:
    done = world.post(f"/v1/quotes/{quote}/{action}", {}, headers=ANY)
    assert done.status_code == 200, done.get_json()


def _tidied(world: World, terms: Terms) -> Erased:
    return tidy(world.wiring.units, world.shop_id, terms, world.clock())


def _all(world: World, column: Any) -> list[Any]:
    with world.wiring.engine.connect() as connection:
        return list(connection.execute(select(column)).scalars())


def test_what_came_to_nothing_goes_and_what_was_sold_stays(world: World) -> None:
    kept = {_quote(world), _quote(world)}
    for quote in kept:
        _pressed(world, quote, "accept")
    _pressed(world, max(kept), "withdraw")  # it has tickets, and its sale is in the books
    for action in ("decline", "withdraw", ""):
        quote = _quote(world)
        if action:
            _pressed(world, quote, action)
    _quote(world, "price")
    world.clock.move(days=399)
    late = _quote(world)
    world.clock.move(days=2)
    assert _tidied(world, FOR_EVER).quotes == 0
    assert _tidied(world, Terms(400, 0, 0)).quotes == 4
    assert set(_all(world, quotes.c.id)) == kept | {late}
    assert set(_all(world, quote_revisions.c.quote_id)) == kept | {late}
    assert _tidied(world, Terms(400, 0, 0)) == Erased()
    after = world.ask("GET", f"/v1/quotes/{_quote(world)}").get_json()
    before = world.ask("GET", f"/v1/quotes/{late}").get_json()
    assert int(after["number"][1:-1]) == int(before["number"][1:-1]) + 1  # no number comes again


def test_an_open_quote_that_still_holds_stays(world: World) -> None:
    _quote(world)
    world.clock.move(days=20)
    assert _tidied(world, Terms(10, 0, 0)).quotes == 0


def test_events_go_once_every_webhook_has_read_them(world: World) -> None:
    _quote(world)
    world.clock.move(days=10)
    example = examples()["create_webhook"]["request"]["body"]
    assert world.post("/v1/webhooks", example, "admin").status_code == 201
    _quote(world)
    world.clock.move(days=10)
    assert _tidied(world, Terms(0, 30, 0)).events == 0
    told = world.ask("GET", "/v1/events").get_json()["items"]
    # The webhook begins behind the first quote, and nobody has sent it the second.
    done = _tidied(world, Terms(0, 5, 0)).events
    left = world.ask("GET", "/v1/events").get_json()["items"]
    assert 1 <= done < len(told)
    assert left[: len(told) - done] == told[done:]
    assert left[-1]["kind"] == "shop.tidied"


def test_keys_long_out_of_force_go_and_make_room(world: World) -> None:
    old = world.post("/v1/keys", {"name": "old", "scopes": ["counter"]}, "admin").get_json()
    world.tokens["old"] = old["token"]
    _quote(world, "old")
    assert world.ask("DELETE", f"/v1/keys/{old['id']}", "admin").status_code == 204
    before = len(_all(world, api_keys.c.id))
    world.clock.move(days=399)
    assert _tidied(world, FOR_EVER).keys == 0
    world.clock.move(days=2)
    assert _tidied(world, FOR_EVER).keys == 2  # and the one that ended by itself
    assert len(_all(world, api_keys.c.id)) == before - 2
    assert old["id"] not in _all(world, api_keys.c.id)
    events = world.ask("GET", "/v1/events?limit=1000").get_json()["items"]
    assert old["id"] in {each["key"] for each in events}


def test_a_customer_who_asks_is_forgotten_everywhere(world: World) -> None:
    mine, other = _quote(world), _quote(world, name="A. Caller", email="a.caller@example.com")
    spelled = _quote(world, name="M. Okafor", email="M.Okafor@Example.com")
    _pressed(world, mine, "accept")
    before = {quote: world.ask("GET", f"/v1/quotes/{quote}").get_json() for quote in (mine, other)}
    gone = forget(world.wiring.units, world.shop_id, " m.OKAFOR@example.com", world.clock())
    assert gone == Forgotten(2)
    for column in (quotes.c.customer, quote_revisions.c.request, idempotent_requests.c.body):
        assert not any(b"okafor" in (text or b"").lower() for text in _all(world, column))
    for quote in (mine, spelled):
        shown = world.ask("GET", f"/v1/quotes/{quote}")
        assert shown.get_json()["customer"] == {}
        assert world.ask("GET", f"/v1/quotes/{quote}/workings").status_code == 200
    figures = world.ask("GET", f"/v1/quotes/{mine}").get_json()
    assert figures["totals"] == before[mine]["totals"]
    assert figures["jobs"] == before[mine]["jobs"]
    assert world.ask("GET", f"/v1/quotes/{other}").get_json() == before[other]
    note = world.ask("GET", "/v1/events?kind=customer.forgotten", "admin").get_json()["items"]
    assert [each["after"] for each in note] == [{"quotes": 2}]
    assert (
        forget(world.wiring.units, world.shop_id, "nobody@example.com", world.clock())
        == Forgotten()
    )
    assert forget(world.wiring.units, world.other_shop_id, OKAFOR, world.clock()) == Forgotten()


def test_customers_of_old_quotes_are_forgotten_and_the_quotes_stay(world: World) -> None:
    old = _quote(world)
    world.clock.move(days=900)
    new = _quote(world)
    world.clock.move(days=1)
    assert _tidied(world, Terms(0, 0, 900)).customers == 1
    shown = {q: world.ask("GET", f"/v1/quotes/{q}").get_json()["customer"] for q in (old, new)}
    assert shown[old] == {}
    assert shown[new]["email"] == OKAFOR
    assert _tidied(world, Terms(0, 0, 900)) == Erased()


def test_numbers_stay_as_they_were_written() -> None:
    sent = (
        b'{"customer":{"name":"x"},"n":[16.37500,1e-3,12345678901234567890123,-0.0],"a":"\xc3\xa9"}'
    )
    kept = b'{"n":[16.37500,1e-3,12345678901234567890123,-0.0],"a":"\xc3\xa9"}'
    assert without_customer(sent) == kept
    assert without_customer(b"[1]") == b"[1]"


def test_the_commands_say_what_they_did(world: World) -> None:
    _quote(world)
    address = world.wiring.engine.url.render_as_string(hide_password=False)
    env = {"DATABASE_URL": address.replace("+pysqlite", ""), "FRAMING_QUOTES_KEEP_UNSOLD_DAYS": "9"}
    told = CliRunner().invoke(main, ["tidy"], env=env)
    assert told.exit_code == 0, told.output
    assert "lanternquay: erased " in told.output
    asked = ["forget-customer", "--shop", "lanternquay", "--email", OKAFOR]
    refused = CliRunner().invoke(main, asked, env=env, input="n\n")
    assert refused.exit_code != 0
    gone = CliRunner().invoke(main, [*asked, "--yes"], env=env)
    assert gone.exit_code == 0, gone.output
    assert "1 quotes name nobody now" in gone.output
