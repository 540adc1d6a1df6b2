"""Keys checked lately are trusted for the time set; their end is looked at every time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine, event

from service.app.keys import access, cache
from service.app.keys.cache import KeyRing
from service.domain.errors import NotKnown
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.persistence.unit_of_work import UnitsOfWork

START = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)


class Time:
    """Both clocks of a key ring, wound by hand."""

    def __init__(self) -> None:
        self.passed = timedelta()

    def now(self) -> datetime:
        return START + self.passed

    def monotonic(self) -> float:
        return self.passed.total_seconds()


@pytest.fixture
def time() -> Time:
    return Time()


@pytest.fixture
def issued(units: UnitsOfWork) -> access.IssuedKey:
    shop = Shop(
        code="corner",
        name="Corner",
        currency="USD",
        time_zone="UTC",
        ruler=Ruler("in", Length.inches("0.0625")),
    )
    with units.writing() as uow:
        uow.shops.add("s1", shop)
        ends = START + timedelta(seconds=60)
        key = access.create_key(uow, "s1", "till", ["price"], START, ends)
        uow.commit()
    return key


@pytest.fixture
def ring(units: UnitsOfWork, time: Time) -> KeyRing:
    return KeyRing(units, time.now, 1.0, time.monotonic)


def _revoke(units: UnitsOfWork, issued: access.IssuedKey) -> None:
    with units.writing() as uow:
        uow.keys.revoke("s1", issued.record.id, START)
        uow.commit()


def test_a_recent_check_costs_no_query(
    ring: KeyRing, issued: access.IssuedKey, engine: Engine
) -> None:
    first = ring.recent_principal(issued.token)
    seen: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *a: seen.append(a[2]))
    assert ring.recent_principal(issued.token) == first
    assert first.key_id == issued.record.id
    assert seen == []


def test_a_revoked_key_ends_at_once_or_after_the_time_set(
    ring: KeyRing, issued: access.IssuedKey, units: UnitsOfWork, time: Time
) -> None:
    ring.recent_principal(issued.token)
    _revoke(units, issued)
    assert ring.recent_principal(issued.token)
    with pytest.raises(NotKnown):
        ring.principal(issued.token)
    time.passed += timedelta(seconds=1)
    with pytest.raises(NotKnown):
        ring.recent_principal(issued.token)


def test_a_key_that_has_ended_is_refused_however_lately_it_was_checked(
    ring: KeyRing, issued: access.IssuedKey, time: Time
) -> None:
    time.passed = timedelta(seconds=59.5)
    ring.recent_principal(issued.token)
    time.passed = timedelta(seconds=60)
    with pytest.raises(NotKnown) as refusal:
        ring.recent_principal(issued.token)
    assert refusal.value.message == access.not_known().message


def test_an_unknown_token_is_never_kept(ring: KeyRing, issued: access.IssuedKey) -> None:
    wrong = issued.token[:-1] + ("A" if issued.token[-1] != "A" else "B")
    for _ in range(2):
        with pytest.raises(NotKnown):
            ring.recent_principal(wrong)
    assert not ring._known


def test_the_ring_holds_so_many_and_no_more(
    ring: KeyRing, issued: access.IssuedKey, units: UnitsOfWork, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cache, "MOST", 2)
    with units.writing() as uow:
        more = [access.create_key(uow, "s1", str(n), ["price"], START) for n in range(3)]
        uow.commit()
    for key in (issued, *more):
        assert ring.recent_principal(key.token).key_id == key.record.id
        assert len(ring._known) <= 2
