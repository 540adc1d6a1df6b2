"""Webhooks as stored: what happens at once leaves nothing behind and breaks nothing."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from time import sleep

import pytest
from sqlalchemy import Engine, func, select

from schemas.events.records import FEED_START, Endpoint
from service.app.audit import note
from service.app.events.delivery import Outcome, queue_events, settle
from service.demo import demo_shop
from service.persistence.events.webhooks import webhook_attempts, webhook_messages
from service.persistence.unit_of_work import UnitsOfWork

NOW = datetime(2026, 11, 25, 15, 4, 5, tzinfo=UTC)
SHOP = "shop"
HOOK = Endpoint(
    id="hook",
    shop_id=SHOP,
    url="https://books.example/",
    kinds=frozenset(),
    description="",
    created_at=NOW,
    place=FEED_START,
)


@pytest.fixture
def hooked(units: UnitsOfWork) -> UnitsOfWork:
    """A shop with a webhook and an event that it has not been told yet."""
    with units.writing() as uow:
        uow.shops.add(SHOP, demo_shop())
        uow.webhooks.add(HOOK)
        _note(uow, "first")
        uow.commit()
    return units


def _note(uow: object, subject: str) -> None:
    note(
        uow,  # type: ignore[arg-type]
        shop_id=SHOP,
        key_id="k",
        at=NOW,
        kind="quote.created",
        subject="quote",
        subject_id=subject,
    )


def _left(engine: Engine) -> list[int]:
    with engine.connect() as connection:
        tables = (webhook_messages, webhook_attempts)
        return [
            connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in tables
        ]


def _remove(units: UnitsOfWork) -> None:
    with units.writing() as uow:
        uow.webhooks.remove(SHOP, HOOK.id)
        uow.commit()


def test_a_webhook_is_removed_while_a_worker_queues_for_it(
    hooked: UnitsOfWork, engine: Engine
) -> None:
    with ThreadPoolExecutor(1) as pool, hooked.writing() as worker:
        queue_events(worker, HOOK, lambda: "message", NOW)
        removed = pool.submit(_remove, hooked)
        sleep(0.2)  # long enough for the other to come to where it waits
        worker.commit()
        removed.result(60)
    assert _left(engine) == [0, 0]


def test_a_webhook_is_removed_while_a_worker_settles_a_message(
    hooked: UnitsOfWork, engine: Engine
) -> None:
    with hooked.writing() as uow:
        queue_events(uow, HOOK, lambda: "message", NOW)
        uow.commit()
    with hooked.writing() as uow:
        (message,) = uow.webhooks.take_due(HOOK.id, NOW, NOW + timedelta(minutes=1), 5)
        uow.commit()
    with ThreadPoolExecutor(1) as pool, hooked.writing() as worker:
        settle(worker, HOOK, message, Outcome(200, "", 1), NOW)
        removed = pool.submit(_remove, hooked)
        sleep(0.2)
        worker.commit()
        removed.result(60)
    assert _left(engine) == [0, 0]


def test_what_was_removed_meanwhile_is_not_settled(hooked: UnitsOfWork, engine: Engine) -> None:
    with hooked.writing() as uow:
        queue_events(uow, HOOK, lambda: "message", NOW)
        uow.commit()
    with hooked.writing() as uow:
        (message,) = uow.webhooks.take_due(HOOK.id, NOW, NOW + timedelta(minutes=1), 5)
        uow.commit()
    _remove(hooked)
    with hooked.writing() as uow:
        settle(uow, HOOK, message, Outcome(200, "", 1), NOW)
        queue_events(uow, HOOK, lambda: "another", NOW)
        uow.commit()
    assert _left(engine) == [0, 0]


def test_the_feed_is_read_once_by_workers_that_read_at_once(
    hooked: UnitsOfWork, engine: Engine
) -> None:
    for name in ("one", "two"):  # both know the endpoint as it was
        with hooked.writing() as uow:
            queue_events(uow, HOOK, lambda name=name: name, NOW)  # type: ignore[misc]
            uow.commit()
    assert _left(engine) == [1, 0]


def test_old_messages_are_forgotten_with_their_log_and_pending_ones_are_not(
    hooked: UnitsOfWork, engine: Engine
) -> None:
    with hooked.writing() as uow:
        _note(uow, "second")
        ids = iter(("sent", "waits"))
        uow.commit()
    with hooked.writing() as uow:
        queue_events(uow, HOOK, lambda: next(ids), NOW)
        uow.commit()
    with hooked.writing() as uow:
        (message, _) = uow.webhooks.take_due(HOOK.id, NOW, NOW + timedelta(minutes=1), 5)
        settle(uow, HOOK, message, Outcome(204, "", 1), NOW)
        uow.commit()
    assert _left(engine) == [2, 1]
    with hooked.writing() as uow:
        assert uow.webhooks.forget(NOW, 100) == 0
        assert uow.webhooks.forget(NOW + timedelta(seconds=1), 100) == 1
        uow.commit()
    assert _left(engine) == [1, 0]
