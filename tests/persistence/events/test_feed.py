"""Events: one order for all readers, however many write at once; kept exactly if the change is."""

from __future__ import annotations

import random
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from time import monotonic, sleep

import pytest
from sqlalchemy import Engine, text

from schemas.events.records import FEED_START, EventFilter, EventPlace, NewEvent, StoredEvent
from service.app.audit import note
from service.demo import demo_shop
from service.domain.errors import BadValue
from service.persistence.events import feed
from service.persistence.events.feed import SqlEvents
from service.persistence.sql.engine import open_engine, writing
from service.persistence.sql.session import Session
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork
from tests.databases import new_database

NOW = datetime(2026, 11, 25, 15, 4, 5, tzinfo=UTC)
SHOP = "shop"
EVERYTHING = EventFilter()
WRITERS, EACH = 8, 40
PATIENCE = 300
"""Seconds that a busy machine may take; what is read is not a matter of time."""


@pytest.fixture
def shop(units: UnitsOfWork) -> str:
    with units.writing() as uow:
        uow.shops.add(SHOP, demo_shop())
        uow.commit()
    return SHOP


@pytest.fixture
def second_database(postgres_server: str) -> Iterator[Engine]:
    """Another database of the same server."""
    with new_database(postgres_server) as url:
        engine = open_engine(url)
        yield engine
        engine.dispose()


@pytest.fixture
def postgres_shop(postgres_engine: Engine) -> UnitsOfWork:
    units = UnitsOfWork(postgres_engine)
    with units.writing() as uow:
        uow.shops.add(SHOP, demo_shop())
        uow.commit()
    return units


def _note(uow: UnitOfWork, subject_id: str, kind: str = "quote.created") -> None:
    note(uow, shop_id=SHOP, key_id="k", at=NOW, kind=kind, subject="quote", subject_id=subject_id)


def _event(subject_id: str) -> NewEvent:
    return NewEvent(
        shop_id=SHOP,
        key_id="k",
        at=NOW,
        kind="quote.created",
        subject="quote",
        subject_id=subject_id,
    )


def _store(units: UnitsOfWork, *subjects: str, kind: str = "quote.created") -> None:
    with units.writing() as uow:
        for subject in subjects:
            _note(uow, subject, kind)
        uow.commit()


def _read(
    units: UnitsOfWork, after: EventPlace = FEED_START, limit: int = 100, **wanted: str
) -> tuple[list[str], EventPlace, bool]:
    with units.following() as uow:
        page = uow.events.page(SHOP, EventFilter(**wanted), limit, after)
    return [stored.event.subject_id for stored in page.events], page.after, page.more


@contextmanager
def _open_writer(units: UnitsOfWork, subject: str) -> Iterator[UnitOfWork]:
    """A transaction that has stored an event and is still open."""
    with units.writing() as uow:
        _note(uow, subject)
        yield uow


def test_an_event_comes_back_as_it_went_in(units: UnitsOfWork, shop: str) -> None:
    with units.writing() as uow:
        note(
            uow,
            shop_id=shop,
            key_id="a key",
            at=NOW,
            kind="price_list.published",
            subject="price_list",
            subject_id="2026-autumn",
            before=b'{"state": "draft"}',
            after='{"state": "ver\u00f6ffentlicht"}'.encode(),
        )
        uow.commit()
    with units.following() as uow:
        (stored,) = uow.events.page(shop, EVERYTHING, 10, FEED_START).events
    event = stored.event
    assert (event.shop_id, event.key_id, event.at) == (shop, "a key", NOW)
    assert (event.kind, event.subject) == ("price_list.published", "price_list")
    assert event.subject_id == "2026-autumn"
    assert event.before == b'{"state": "draft"}'
    assert event.after == '{"state": "ver\u00f6ffentlicht"}'.encode()


def test_pages_go_on_where_the_last_ended(units: UnitsOfWork, shop: str) -> None:
    _store(units, "a", "b", "c")
    _store(units, "d", "e")
    first, place, more = _read(units, limit=2)
    assert (first, more) == (["a", "b"], True)
    second, place, more = _read(units, place, limit=3)
    assert (second, more) == (["c", "d", "e"], False)
    assert _read(units, place) == ([], place, False)
    _store(units, "f")
    assert _read(units, place)[0] == ["f"]


def test_what_is_rolled_back_was_never_there(units: UnitsOfWork, shop: str) -> None:
    with units.writing() as uow:
        _note(uow, "undone")
    _store(units, "kept")
    assert _read(units)[0] == ["kept"]


def test_filters_by_kind_and_subject(units: UnitsOfWork, shop: str) -> None:
    _store(units, "a", "b")
    _store(units, "a", kind="quote.accepted")
    assert _read(units, kind="quote.accepted")[0] == ["a"]
    assert _read(units, subject_id="a")[0] == ["a", "a"]
    assert _read(units, subject_id="a", kind="quote.created")[0] == ["a"]
    assert _read(units, kind="quote.declined")[0] == []


def test_a_rare_kind_is_looked_for_a_stretch_at_a_time(
    units: UnitsOfWork, shop: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(feed, "SIFTED", 4)
    _store(units, "a", "b", "c", "d", "e")
    _store(units, "rare", kind="shop.tidied")
    _store(units, "f", "g", "h")
    _store(units, "rarer", "rarest", kind="shop.tidied")
    place, pages = FEED_START, list[tuple[list[str], bool]]()
    while not pages or pages[-1][1]:
        with units.following() as uow:
            page = uow.events.page(shop, EventFilter(kind="shop.tidied"), 1, place)
        pages.append(([stored.event.subject_id for stored in page.events], page.more))
        place = page.after
    assert [subject for found, _ in pages for subject in found] == ["rare", "rarer", "rarest"]
    assert ([], True) in pages  # an empty page with more to come
    assert len(pages) <= 6
    with units.following() as uow:
        assert uow.events.page(shop, EventFilter(kind="shop.tidied"), 1, place).events == ()
    _store(units, "new", kind="shop.tidied")
    with units.following() as uow:
        (new,) = uow.events.page(shop, EventFilter(kind="shop.tidied"), 5, place).events
    assert new.event.subject_id == "new"


def test_a_shop_sees_only_its_own(units: UnitsOfWork, shop: str) -> None:
    _store(units, "a")
    with units.following() as uow:
        assert uow.events.page("another", EVERYTHING, 10, FEED_START).events == ()
        assert uow.events.end("another") == FEED_START


def test_the_end_is_behind_what_is_there_and_before_what_comes(
    units: UnitsOfWork, shop: str
) -> None:
    _store(units, "a", "b")
    with units.following() as uow:
        end = uow.events.end(shop)
    assert _read(units, end)[0] == []
    _store(units, "c")
    assert _read(units, end)[0] == ["c"]


@pytest.mark.parametrize(
    "kind", ["", "created", "Quote.created", "quote.", "quote created", "a.b\n"]
)
def test_a_kind_is_a_dotted_word(units: UnitsOfWork, shop: str, kind: str) -> None:
    with units.writing() as uow, pytest.raises(BadValue):
        _note(uow, "a", kind)


@pytest.mark.postgres
def test_a_transaction_that_commits_late_is_not_skipped(postgres_shop: UnitsOfWork) -> None:
    units = postgres_shop
    with _open_writer(units, "early but slow") as slow:
        _store(units, "late but quick")
        # Its row number is the lower one, so nothing behind it may be read before it is decided.
        seen, place, _ = _read(units)
        assert seen == []
        slow.commit()
    assert _read(units, place)[0] == ["early but slow", "late but quick"]


@pytest.mark.postgres
def test_a_transaction_that_gives_up_lets_the_others_through(postgres_shop: UnitsOfWork) -> None:
    with _open_writer(postgres_shop, "given up"):
        _store(postgres_shop, "kept")
        assert _read(postgres_shop)[0] == []
    assert _read(postgres_shop)[0] == ["kept"]


@pytest.mark.postgres
def test_a_late_event_of_an_older_transaction_comes_after_what_was_noted_before(
    postgres_shop: UnitsOfWork,
) -> None:
    # What it says may follow from what was committed meanwhile.
    units = postgres_shop
    with units.writing() as slow:
        _note(slow, "first of the slow")
        _store(units, "quick")
        _note(slow, "second of the slow")
        assert _read(units)[0] == []
        slow.commit()
    assert _read(units)[0] == ["first of the slow", "quick", "second of the slow"]


@pytest.mark.postgres
def test_a_transaction_that_notes_nothing_holds_nothing_back(
    postgres_shop: UnitsOfWork, postgres_engine: Engine, second_database: Engine
) -> None:
    units = postgres_shop
    with (
        second_database.connect() as elsewhere,
        writing(postgres_engine).connect() as here,
        units.writing() as undecided,
    ):
        elsewhere.execute(text("CREATE TABLE made (n int)"))  # has a transaction number, stays open
        here.execute(text("UPDATE shops SET version = version"))
        undecided.webhooks.forget(NOW, 1)
        _store(units, "a", "b")
        assert _read(units)[0] == ["a", "b"]
        _note(undecided, "late")
        _store(units, "c")
        assert _read(units)[0] == ["a", "b"]
        undecided.commit()
    assert _read(units)[0] == ["a", "b", "late", "c"]


@pytest.mark.postgres
def test_one_shop_does_not_hold_back_another(postgres_shop: UnitsOfWork) -> None:
    units = postgres_shop
    with units.writing() as uow:
        uow.shops.add("other", replace(demo_shop(), code="other"))
        uow.commit()
    with _open_writer(units, "undecided"), units.writing() as uow:
        note(uow, shop_id="other", key_id="k", at=NOW, kind="a.b", subject="c", subject_id="theirs")
        uow.commit()
        with units.following() as reader:
            (found,) = reader.events.page("other", EVERYTHING, 10, FEED_START).events
        assert found.event.subject_id == "theirs"
        _store(units, "ours")
        assert _read(units)[0] == []
    assert _read(units)[0] == ["ours"]


@pytest.mark.postgres
def test_a_writer_of_many_events_holds_one_lock(
    postgres_shop: UnitsOfWork, postgres_engine: Engine
) -> None:
    held = text("SELECT count(*) FROM pg_locks WHERE locktype = 'advisory'")
    with postgres_shop.writing() as uow:
        for number in range(300):
            _note(uow, str(number))
        with postgres_engine.connect() as connection:
            assert connection.execute(held).scalar_one() == 1


@pytest.mark.postgres
def test_what_was_noted_before_a_savepoint_still_holds_back_after_it(
    postgres_shop: UnitsOfWork, postgres_engine: Engine
) -> None:
    with writing(postgres_engine).connect() as connection:
        noted = SqlEvents(Session(connection))
        with connection.begin_nested() as half:
            noted.add(_event("undone"))
            half.rollback()
        _store(postgres_shop, "a")
        assert _read(postgres_shop)[0] == ["a"]  # nothing is left that holds back
        with connection.begin_nested():
            noted.add(_event("kept"))
        _store(postgres_shop, "b")
        assert _read(postgres_shop)[0] == ["a"]
        connection.commit()
    assert _read(postgres_shop)[0] == ["a", "kept", "b"]


@pytest.mark.postgres
def test_a_unit_that_keeps_one_view_cannot_read_the_feed(postgres_shop: UnitsOfWork) -> None:
    with postgres_shop.reading() as uow, pytest.raises(RuntimeError, match="follows"):
        uow.events.page(SHOP, EVERYTHING, 10, FEED_START)


def test_the_lag_is_the_age_of_what_holds_back(
    engine: Engine, units: UnitsOfWork, shop: str
) -> None:
    with units.reading() as uow:
        assert uow.events.lag() == timedelta()
    with units.writing() as slow:
        _note(slow, "undecided")
        sleep(0.3)
        with units.reading() as uow:
            lag = uow.events.lag()
    if engine.dialect.name == "postgresql":
        assert timedelta(seconds=0.3) <= lag < timedelta(seconds=60)
    else:
        assert lag == timedelta()
    with units.reading() as uow:
        assert uow.events.lag() == timedelta()


class _Reader(threading.Thread):
    """Follows the feed with its cursor until it is told that all is written."""

    def __init__(self, units: UnitsOfWork, limit: int, shop: str = SHOP) -> None:
        super().__init__()
        self._units, self._limit, self._shop = units, limit, shop
        self.written = threading.Event()
        self.seen: list[StoredEvent] = []
        self.failed: BaseException | None = None

    def run(self) -> None:
        try:
            place, ends = FEED_START, monotonic() + PATIENCE
            while monotonic() < ends:
                done = self.written.is_set()
                with self._units.following() as uow:
                    page = uow.events.page(self._shop, EVERYTHING, self._limit, place)
                self.seen += page.events
                place = page.after
                if done and not page.events:
                    return
            raise TimeoutError("the feed was not read to its end in time")
        except BaseException as error:
            self.failed = error


def _write(units: UnitsOfWork, writer: int) -> list[str]:
    """Transactions of one to three events, some held open, some given up."""
    chance, kept = random.Random(writer), []  # seeded, so that a failure can be repeated
    for number in range(EACH):
        subjects = [f"{writer}-{number}-{part}" for part in range(chance.randint(1, 3))]
        with units.writing() as uow:
            for subject in subjects:
                _note(uow, subject)
                if chance.random() < 0.3:
                    sleep(chance.random() / 100)
            if chance.random() < 0.8:
                uow.commit()
                kept += subjects
    return kept


def test_readers_miss_and_repeat_nothing_while_many_write(engine: Engine, shop: str) -> None:
    wide = open_engine(engine.url.render_as_string(hide_password=False), connections=WRITERS + 4)
    units = UnitsOfWork(wide)
    readers = [_Reader(units, limit) for limit in (1, 7, 200)]
    for reader in readers:
        reader.start()
    with ThreadPoolExecutor(WRITERS) as pool:
        kept = [s for each in pool.map(lambda n: _write(units, n), range(WRITERS)) for s in each]
    for reader in readers:
        reader.written.set()
        reader.join(timeout=PATIENCE)
        assert reader.failed is None
        assert not reader.is_alive()
    wide.dispose()
    orders = [[stored.event.subject_id for stored in reader.seen] for reader in readers]
    assert len(orders[0]) == len(set(orders[0]))
    assert set(orders[0]) == set(kept)
    assert orders[0] == orders[1] == orders[2] == _read(UnitsOfWork(engine), limit=1_000)[0]


def _write_roughly(engine: Engine, writer: int) -> dict[str, list[str]]:
    """Transactions over two shops, with savepoints, some held open, some given up."""
    chance, kept = random.Random(writer), dict[str, list[str]](shop=[], other=[])
    for number in range(EACH):
        mine = []
        with engine.connect() as connection, connection.begin() as whole:
            noted = SqlEvents(Session(connection))
            for part in range(chance.randint(1, 4)):
                event = replace(_event(f"{writer}-{number}-{part}"), shop_id=chance.choice([*kept]))
                with connection.begin_nested() as half:
                    noted.add(event)
                    if chance.random() < 0.2:
                        half.rollback()
                    else:
                        mine.append(event)
                sleep(chance.random() / 100)
            if chance.random() < 0.2:
                whole.rollback()
                mine = []
        for event in mine:
            kept[event.shop_id].append(event.subject_id)
    return kept


@pytest.mark.postgres
def test_readers_of_two_shops_miss_nothing_among_savepoints(
    postgres_engine: Engine, postgres_shop: UnitsOfWork
) -> None:
    with postgres_shop.writing() as uow:
        uow.shops.add("other", replace(demo_shop(), code="other"))
        uow.commit()
    address = postgres_engine.url.render_as_string(hide_password=False)
    wide = open_engine(address, connections=WRITERS + 4)
    readers = {shop: _Reader(UnitsOfWork(wide), 7, shop) for shop in (SHOP, "other")}
    for reader in readers.values():
        reader.start()
    with ThreadPoolExecutor(WRITERS) as pool:
        done = list(pool.map(lambda n: _write_roughly(writing(wide), n), range(WRITERS)))
    for shop, reader in readers.items():
        reader.written.set()
        reader.join(timeout=PATIENCE)
        assert reader.failed is None
        read = [stored.event.subject_id for stored in reader.seen]
        assert sorted(read) == sorted(subject for kept in done for subject in kept[shop])
        places = [stored.place for stored in reader.seen]
        assert places == sorted(set(places))
    wide.dispose()
