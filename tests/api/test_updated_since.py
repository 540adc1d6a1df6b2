"""A reader by `updated_since` misses no change, whatever the clocks and however long it takes."""

from __future__ import annotations

from datetime import timedelta
from threading import Thread

from service.persistence.instants import OF_QUOTES
from service.persistence.unit_of_work import UnitsOfWork
from tests.api.world import World, job

ANY = {"If-Match": "*"}


def _changed(world: World, since: str | None) -> tuple[set[str], str]:
    more = {"updated_since": since} if since else {}
    page = world.ask("GET", "/v1/quotes", query_string=more).get_json()
    return {row["id"] for row in page["items"]}, page["until"]


def test_a_clock_that_is_set_back_hides_no_change(world: World) -> None:
    first = world.post("/v1/quotes", job()).get_json()
    _, until = _changed(world, None)
    world.clock.move(hours=-1)
    second = world.post("/v1/quotes", job()).get_json()
    assert second["created_at"] >= first["created_at"]
    seen, until = _changed(world, until)
    assert second["id"] in seen
    gone = world.post(f"/v1/quotes/{first['id']}/decline", {}, headers=ANY).get_json()
    assert gone["updated_at"] >= gone["created_at"]
    assert first["id"] in _changed(world, until)[0]


def test_items_and_tickets_tell_where_to_go_on(world: World) -> None:
    made = world.post("/v1/quotes", job()).get_json()
    assert world.post(f"/v1/quotes/{made['id']}/accept", {}, headers=ANY).status_code == 200
    tickets = world.ask("GET", "/v1/cut-tickets").get_json()
    assert tickets["until"] == tickets["items"][0]["updated_at"]
    assert "until" in world.ask("GET", "/v1/boards").get_json()


def test_a_later_change_waits_for_one_that_bears_an_earlier_instant(
    world: World,
) -> None:
    units, at, order = UnitsOfWork(world.wiring.engine), world.clock(), list[str]()

    def later() -> None:
        with units.writing() as uow:
            uow.instants.turn(world.shop_id, OF_QUOTES, at + timedelta(seconds=9))
            order.append("later")
            uow.commit()

    with units.writing() as uow:
        uow.instants.turn(world.shop_id, OF_QUOTES, at + timedelta(seconds=5))
        other = Thread(target=later)
        other.start()
        other.join(0.3)
        assert order == []
        uow.commit()
    other.join(20)
    assert order == ["later"]
    with units.writing() as uow:
        kept = uow.instants.turn(world.shop_id, OF_QUOTES, at)
    assert kept == at + timedelta(seconds=9)
