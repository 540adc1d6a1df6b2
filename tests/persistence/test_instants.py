"""Quotes stored side by side: nobody waits, and a reader by `updated_since` misses none."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from threading import Event, Thread

import pytest
from sqlalchemy import Engine, insert

from schemas.quotes.records import Footing, NewQuote, Paper, QuoteFilter, QuoteHead, Revision
from service.app.quotes import created
from service.domain.errors import NotFound, Stale
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Shop
from service.persistence.instants import OF_QUOTES
from service.persistence.keys.keyring import api_keys
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork
from service.wiring import TimeOrderedIds

pytestmark = pytest.mark.postgres
NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
REVISION = Revision(b"{}", b"{}", (Paper("shop", "ab" * 32, b"{}"),), b"{}")
ON = Footing(book=1, key_id="k1", key=1, at=NOW)
new_id = TimeOrderedIds()


@pytest.fixture
def units(postgres_engine: Engine) -> Iterator[UnitsOfWork]:
    found = UnitsOfWork(postgres_engine)
    with found.writing() as uow:
        ruler = Ruler("in", Length.inches("0.0625"))
        shop = Shop(code="corner", name="Corner", currency="USD", time_zone="UTC", ruler=ruler)
        uow.shops.add("s1", shop)
        row = {column.name: "" for column in api_keys.c if not column.nullable}
        row |= {"id": "k1", "shop_id": "s1", "version": 1, "created_at": NOW}
        uow._session.connection.execute(insert(api_keys), row)
        uow.commit()
    return found


def _new(units: UnitsOfWork, at: datetime = NOW) -> NewQuote:
    return NewQuote(
        id=new_id(),
        shop_id="s1",
        status="issued",
        reference="",
        customer=b"{}",
        currency="USD",
        total_minor=1,
        created_at=at,
        valid_until=date(2026, 3, 31),
        created_by="k1",
        revision=REVISION,
        serial=units.serial("s1"),
    )


def _store(units: UnitsOfWork, at: datetime = NOW) -> QuoteHead:
    new = _new(units, at)
    with units.storing(new) as uow:
        head = uow.quotes.add(new, ON, created)
        uow.commit()
    return head


def _until(uow: UnitOfWork) -> datetime:
    found = uow.instants.last("s1", OF_QUOTES)
    assert found is not None
    return found


def _since(units: UnitsOfWork, since: datetime | None) -> tuple[set[str], datetime]:
    """The ids of the quotes changed since then, and where to go on."""
    with units.following() as uow:
        until = _until(uow)
        page = uow.quotes.page("s1", QuoteFilter(updated_since=since), 10_000)
    return {head.id for head in page.heads}, until


def test_a_quote_is_stored_whole_by_one_statement(units: UnitsOfWork) -> None:
    first, second = _store(units), _store(units)  # the first brings the papers
    assert (first.serial, second.serial) == (10_001, 10_002)
    with units.reading() as uow:
        for head in (first, second):
            assert uow.quotes.by_id("s1", head.id).head == head
            assert uow.quotes.revision("s1", head.id, 1) == REVISION


def test_on_another_book_or_key_nothing_is_stored(units: UnitsOfWork) -> None:
    _store(units)
    for other in (ON._replace(book=2), ON._replace(key=2), ON._replace(key_id="k2")):
        new = _new(units)
        with units.storing(new) as uow, pytest.raises(Stale):
            uow.quotes.add(new, other, created)
        with units.reading() as uow, pytest.raises(NotFound):
            uow.quotes.by_id("s1", new.id)


def test_quotes_of_a_shop_do_not_wait_for_one_that_is_not_committed(units: UnitsOfWork) -> None:
    _store(units)
    new = _new(units)
    with units.writing() as uow:
        open_one = uow.quotes.add(new, ON, created)
        later = _store(units, NOW + timedelta(seconds=5))  # would wait until the lock's limit
        seen, until = _since(units, None)
        assert later.id in seen
        assert open_one.id not in seen
        uow.commit()
    assert open_one.id in _since(units, until)[0]


def test_an_instant_is_never_before_one_that_can_be_seen(units: UnitsOfWork) -> None:
    late = _store(units, NOW + timedelta(hours=1))
    early = _store(units, NOW)  # its node's clock was set back
    assert early.created_at == late.created_at
    with units.writing() as uow:
        assert uow.instants.turn("s1", OF_QUOTES, NOW) == late.created_at


def test_a_lost_answer_is_settled_once_its_transaction_has_ended(units: UnitsOfWork) -> None:
    _store(units)
    new, found = _new(units), list[QuoteHead]()

    def settle() -> None:
        with units.writing() as uow:
            found.append(uow.quotes.settle("s1", new.id))

    with units.writing() as uow:
        head = uow.quotes.add(new, ON, created)
        other = Thread(target=settle)
        other.start()
        other.join(0.3)
        assert found == []
        uow.commit()
    other.join(20)
    assert found == [head]
    with units.writing() as uow, pytest.raises(NotFound):
        uow.quotes.settle("s1", new_id())


def test_a_reader_that_follows_misses_none_of_many_writers(units: UnitsOfWork) -> None:
    _store(units)
    stop, stored = Event(), set[str]()

    def write(seed: int) -> None:
        chance = random.Random(seed)
        for _ in range(25):
            at = NOW + timedelta(milliseconds=chance.randrange(3_000))  # clocks apart
            new = _new(units, at)
            with units.writing() as uow:
                head = uow.quotes.add(new, ON, created)
                time.sleep(chance.random() / 100)
                if chance.random() < 0.3:  # a change of a stored quote, in the same instants
                    at = uow.instants.turn("s1", OF_QUOTES, at)
                    changed = replace(head, updated_at=at, version=head.version + 1)
                    uow.quotes.change(head, changed)
                uow.commit()
            stored.add(head.id)

    def follow() -> tuple[set[str], int]:
        seen, until = _since(units, None)
        rounds = 0
        while not stop.is_set() or rounds == 0:
            more, until = _since(units, until)
            seen |= more
            rounds += 1
        return seen | _since(units, until)[0], rounds

    with ThreadPoolExecutor(5) as pool:
        reader = pool.submit(follow)
        writers = [pool.submit(write, seed) for seed in range(4)]
        for writer in writers:
            writer.result(120)
        stop.set()
        seen, rounds = reader.result(60)
    assert len(stored) == 100
    assert stored <= seen
    assert rounds > 3
