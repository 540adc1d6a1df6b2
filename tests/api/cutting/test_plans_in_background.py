"""Big plans: made once, whoever begins, dies, is stopped or gives up; on both databases."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

from schemas.cutting.plans import WrittenPlans
from service.app.cutting import background, planning
from service.app.cutting.background import A_BEAT, HEART_STOPPED, MOST_BEGUN, PlanWork
from service.persistence.cutting.queue import QueueJobs
from service.persistence.cutting.threads import ThreadJobs
from tests.api.contract.shapes import wrong
from tests.api.world import World
from tests.waiting import wait_for

Answer = dict[str, Any]
PIECES = [
    {"item": "BRD-1204", "width": f"{8 + n} in", "height": "16.375", "quantity": 2}
    for n in range(4)
]


class Killed(BaseException):
    """Ends the process, as a kill does: nothing that it would still do is done."""


@pytest.fixture(autouse=True)
def _four_rows_are_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "AT_ONCE", Fraction(1, 5))


def asked(world: World) -> str:
    answer = world.post("/v1/cutting-plans", {"pieces": PIECES})
    assert answer.status_code == 202, answer.get_json()
    assert wrong("CuttingPlan", answer.get_json()) == []
    plan: str = answer.get_json()["id"]
    assert answer.headers["Location"] == f"/v1/cutting-plans/{plan}"
    return plan


def shown(world: World, plan: str) -> Answer:
    document: Answer = world.ask("GET", f"/v1/cutting-plans/{plan}").get_json()
    assert wrong("CuttingPlan", document) == []
    return document


def press(world: World, plan: str, step: str) -> Answer:
    etag = world.ask("GET", f"/v1/cutting-plans/{plan}").headers["ETag"]
    path = f"/v1/cutting-plans/{plan}/{step}"
    answer = world.ask("POST", path, headers={"If-Match": etag})
    assert answer.status_code == 200, answer.get_json()
    document: Answer = answer.get_json()
    return document


def a_worker(world: World, stopping: Callable[[], bool] = lambda: False) -> PlanWork:
    """A worker as another process would have it."""
    wired = world.wiring
    return PlanWork(wired.units, wired.shelf, WrittenPlans(), world.clock, wired.new_id, stopping)


def events(world: World) -> list[str]:
    answer = world.ask("GET", "/v1/events?limit=200", "admin").get_json()
    return [each["kind"] for each in answer["items"] if each["kind"].startswith("plan.")]


def test_a_big_plan_is_made_in_the_background_as_it_would_be_at_once(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as small:
        small.setattr(planning, "AT_ONCE", Fraction(9))
        at_once = world.post("/v1/cutting-plans", {"pieces": PIECES}).get_json()
    plan = asked(world)
    assert shown(world, plan)["status"] == "waiting", "nobody works before the server has begun"
    world.wiring.jobs.start()
    wait_for(lambda: shown(world, plan)["status"] not in ("waiting", "working"))
    made = shown(world, plan)
    assert made["status"] == "planned"
    assert (made["items"], made["costs"]) == (at_once["items"], at_once["costs"])
    assert made["progress"]["done"] == made["progress"]["of"] > 0
    assert press(world, plan, "commit")["status"] == "committed"


def test_a_plan_that_is_cancelled_before_its_turn_is_never_begun(world: World) -> None:
    plan = asked(world)
    press(world, plan, "cancel")
    a_worker(world)(world.shop_id, plan)
    assert shown(world, plan)["status"] == "cancelled"
    assert "items" not in shown(world, plan)


def test_a_plan_that_is_cancelled_in_the_middle_stays_cancelled(world: World) -> None:
    plan, looks = asked(world), []

    def stopping() -> bool:
        looks.append(world.clock.move(seconds=2))
        if len(looks) == 3:  # it has claimed the plan and is at work
            assert shown(world, plan)["status"] == "working"
            press(world, plan, "cancel")
        assert len(looks) < 10, "it goes on after it was cancelled"
        return False

    a_worker(world, stopping)(world.shop_id, plan)
    assert len(looks) > 3
    assert shown(world, plan)["status"] == "cancelled"


def test_a_worker_that_is_stopped_lets_go_and_another_makes_the_plan(world: World) -> None:
    plan, looks = asked(world), []

    def stopping() -> bool:
        looks.append(None)
        return len(looks) > 3

    a_worker(world, stopping)(world.shop_id, plan)
    assert shown(world, plan)["status"] == "working"
    assert a_worker(world).orphans() == ((world.shop_id, plan),)
    a_worker(world)(world.shop_id, plan)
    assert shown(world, plan)["status"] == "planned"
    assert a_worker(world).orphans() == ()


def test_a_dead_workers_plan_is_left_alone_for_a_minute_and_then_made(world: World) -> None:
    plan = asked(world)

    def killed() -> bool:
        if shown(world, plan)["status"] == "working":
            raise Killed
        return False

    with pytest.raises(Killed):
        a_worker(world, killed)(world.shop_id, plan)
    a_worker(world)(world.shop_id, plan)
    assert shown(world, plan)["status"] == "working", "its worker may be slow; it is not taken away"
    world.clock.now += HEART_STOPPED + A_BEAT
    a_worker(world)(world.shop_id, plan)
    assert shown(world, plan)["status"] == "planned"
    a_worker(world)(world.shop_id, plan)  # brought a second time, it is left alone
    assert events(world).count("plan.made") == 1


def test_a_plan_that_takes_every_worker_down_is_given_up(world: World) -> None:
    plan = asked(world)
    for _ in range(MOST_BEGUN):
        looks: list[None] = []

        def killed(looks: list[None] = looks) -> bool:
            looks.append(None)
            if len(looks) > 1:  # past the claim, at work
                raise Killed
            return False

        with pytest.raises(Killed):
            a_worker(world, killed)(world.shop_id, plan)
        world.clock.now += HEART_STOPPED + A_BEAT
    a_worker(world)(world.shop_id, plan)
    told = shown(world, plan)
    assert told["status"] == "failed"
    assert "never finished" in told["failure"]


def test_a_fault_of_the_planner_fails_the_plan_in_plain_words(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = asked(world)
    monkeypatch.setattr(background, "make_plan", lambda *_: 1 // 0)
    a_worker(world)(world.shop_id, plan)
    told = shown(world, plan)
    assert (told["status"], told["possible"]) == ("failed", [])
    assert "division" not in told["failure"]


def test_an_idle_thread_finds_a_plan_that_nobody_makes(world: World) -> None:
    plan = asked(world)
    world.clock.now += HEART_STOPPED + A_BEAT
    jobs = ThreadJobs(a_worker(world), looks_every=0.05)
    jobs.start()
    wait_for(lambda: shown(world, plan)["status"] == "planned")
    jobs.close()
    jobs.start()  # which begins nothing more


@pytest.mark.postgres
@pytest.mark.parametrize("world", ["postgres"], indirect=True)
def test_a_job_that_the_queue_has_lost_is_put_into_it_again(world: World) -> None:
    jobs = world.wiring.jobs
    assert isinstance(jobs, QueueJobs)
    asked(world)
    with world.wiring.engine.begin() as connection:
        connection.exec_driver_sql("SET LOCAL search_path TO procrastinate")
        lost = connection.exec_driver_sql("DELETE FROM procrastinate_jobs").rowcount
    jobs.put_orphans()
    waiting = "SELECT count(*) FROM procrastinate.procrastinate_jobs"
    with world.wiring.engine.connect() as connection:
        assert connection.exec_driver_sql(waiting).scalar_one() == 0, "somebody may still be at it"
    world.clock.now += HEART_STOPPED + A_BEAT
    jobs.put_orphans()
    with world.wiring.engine.connect() as connection:
        assert (lost, connection.exec_driver_sql(waiting).scalar_one()) == (1, 1)
