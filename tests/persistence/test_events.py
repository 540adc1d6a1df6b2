"""Events: one order for all readers, however many write at once; kept exactly if the change is."""

from __future__ import annotations

import random
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import UTC, datetime
from time import monotonic, sleep

import pytest
from sqlalchemy import Engine, text

from service.app.events import note
from service.app.ports import UnitOfWork
from service.app.records_events import FEED_START, EventFilter, EventPlace, StoredEvent
from service.demo import demo_shop
from service.domain.errors import BadValue
from service.persistence import events as feed
from service.persistence.engine import open_engine, writing
from service.persistence.events import SqlEvents
from service.persistence.session import Session
from service.persistence.unit_of_work import SqlUnits

NOW = datetime(2026, 11, 25, 15, 4, 5, tzinfo=UTC)
SHOP = "shop"
EVERYTHING = EventFilter()
WRITERS, EACH = 8, 40


@pytest.fixture
def shop(units: SqlUnits) -> str:
    with units.writing() as uow:
        uow.shops.add(SHOP, demo_shop())
        uow.commit()
    return SHOP


@pytest.fixture
def postgres_shop(postgres_engine: Engine) -> SqlUnits:
    units = SqlUnits(postgres_engine)
    with units.writing() as uow:
        uow.shops.add(SHOP, demo_shop())
        uow.commit()
    return units


def _note(uow: UnitOfWork, subject_id: str, kind: str = "quote.created") -> None:
    note(uow, shop_id=SHOP, key_id="k", at=NOW, kind=kind, subject="quote", subject_id=subject_id)


def _store(units: SqlUnits, *subjects: str, kind: str = "quote.created") -> None:
    with units.writing() as uow:
        for subject in subjects:
            _note(uow, subject, kind)
        uow.commit()


def _read(
    units: SqlUnits, after: EventPlace = FEED_START, limit: int = 100, **wanted: str
) -> tuple[list[str], EventPlace, bool]:
    with units.reading() as uow:
        page = uow.events.page(SHOP, EventFilter(**wanted), limit, after)
    return [stored.event.subject_id for stored in page.events], page.after, page.more


@contextmanager
def _open_writer(units: SqlUnits, subject: str) -> Iterator[UnitOfWork]:
    """A transaction that has stored an event and is still open."""
    with units.writing() as uow:
        _note(uow, subject)
        yield uow


def test_an_event_comes_back_as_it_went_in(units: SqlUnits, shop: str) -> None:
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
    with units.reading() as uow:
        (stored,) = uow.events.page(shop, EVERYTHING, 10, FEED_START).events
    event = stored.event
    assert (event.shop_id, event.key_id, event.at) == (shop, "a key", NOW)
    assert (event.kind, event.subject) == ("price_list.published", "price_list")
    assert event.subject_id == "2026-autumn"
    assert event.before == b'{"state": "draft"}'
    assert event.after == '{"state": "ver\u00f6ffentlicht"}'.encode()


def test_pages_go_on_where_the_last_ended(units: SqlUnits, shop: str) -> None:
    _store(units, "a", "b", "c")
    _store(units, "d", "e")
    first, place, more = _read(units, limit=2)
    assert (first, more) == (["a", "b"], True)
    second, place, more = _read(units, place, limit=3)
    assert (second, more) == (["c", "d", "e"], False)
    assert _read(units, place) == ([], place, False)
    _store(units, "f")
    assert _read(units, place)[0] == ["f"]


def test_what_is_rolled_back_was_never_there(units: SqlUnits, shop: str) -> None:
    with units.writing() as uow:
        _note(uow, "undone")
    _store(units, "kept")
    assert _read(units)[0] == ["kept"]


def test_filters_by_kind_and_subject(units: SqlUnits, shop: str) -> None:
    _store(units, "a", "b")
    _store(units, "a", kind="quote.accepted")
    assert _read(units, kind="quote.accepted")[0] == ["a"]
    assert _read(units, subject_id="a")[0] == ["a", "a"]
    assert _read(units, subject_id="a", kind="quote.created")[0] == ["a"]
    assert _read(units, kind="quote.declined")[0] == []


def test_a_rare_kind_is_looked_for_a_stretch_at_a_time(
    units: SqlUnits, shop: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(feed, "SIFTED", 4)
    _store(units, "a", "b", "c", "d", "e")
    _store(units, "rare", kind="shop.tidied")
    _store(units, "f", "g", "h")
    _store(units, "rarer", "rarest", kind="shop.tidied")
    place, pages = FEED_START, list[tuple[list[str], bool]]()
    while not pages or pages[-1][1]:
        with units.reading() as uow:
            page = uow.events.page(shop, EventFilter(kind="shop.tidied"), 1, place)
        pages.append(([stored.event.subject_id for stored in page.events], page.more))
        place = page.after
    assert [subject for found, _ in pages for subject in found] == ["rare", "rarer", "rarest"]
    assert ([], True) in pages  # an empty page with more to come
    assert len(pages) <= 6
    with units.reading() as uow:
        assert uow.events.page(shop, EventFilter(kind="shop.tidied"), 1, place).events == ()
    _store(units, "new", kind="shop.tidied")
    with units.reading() as uow:
        (new,) = uow.events.page(shop, EventFilter(kind="shop.tidied"), 5, place).events
    assert new.event.subject_id == "new"


def test_a_shop_sees_only_its_own(units: SqlUnits, shop: str) -> None:
    _store(units, "a")
    with units.reading() as uow:
        assert uow.events.page("another", EVERYTHING, 10, FEED_START).events == ()
        assert uow.events.end("another") == FEED_START


def test_the_end_is_behind_what_is_there_and_before_what_comes(units: SqlUnits, shop: str) -> None:
    _store(units, "a", "b")
    with units.reading() as uow:
        end = uow.events.end(shop)
    assert _read(units, end)[0] == []
    _store(units, "c")
    assert _read(units, end)[0] == ["c"]


@pytest.mark.parametrize(
    "kind", ["", "created", "Quote.created", "quote.", "quote created", "a.b\n"]
)
def test_a_kind_is_a_dotted_word(units: SqlUnits, shop: str, kind: str) -> None:
    with units.writing() as uow, pytest.raises(BadValue):
        _note(uow, "a", kind)


@pytest.mark.postgres
def test_a_transaction_that_commits_late_is_not_skipped(postgres_shop: SqlUnits) -> None:
    units = postgres_shop
    with _open_writer(units, "early but slow") as slow:
        _store(units, "late but quick")
        # Its row number is the lower one, so nothing behind it may be read before it is decided.
        seen, place, _ = _read(units)
        assert seen == []
        slow.commit()
    assert _read(units, place)[0] == ["early but slow", "late but quick"]


@pytest.mark.postgres
def test_a_transaction_that_gives_up_lets_the_others_through(postgres_shop: SqlUnits) -> None:
    with _open_writer(postgres_shop, "given up"):
        _store(postgres_shop, "kept")
        assert _read(postgres_shop)[0] == []
    assert _read(postgres_shop)[0] == ["kept"]


@pytest.mark.postgres
def test_a_late_event_of_an_older_transaction_keeps_its_turn(postgres_shop: SqlUnits) -> None:
    # The older transaction notes its event only after the younger one has committed: the row
    # number is then the higher one, and the turn the lower.
    units = postgres_shop
    with units.writing() as slow:
        slow.keys.used("nobody", NOW, NOW)  # which takes no transaction number: nothing is changed
        _note(slow, "first of the slow")
        _store(units, "quick")
        _note(slow, "second of the slow")
        assert _read(units)[0] == []
        slow.commit()
    assert _read(units)[0] == ["first of the slow", "second of the slow", "quick"]


class _Reader(threading.Thread):
    """Follows the feed with its cursor until it is told that all is written."""

    def __init__(self, units: SqlUnits, limit: int) -> None:
        super().__init__()
        self._units, self._limit = units, limit
        self.written = threading.Event()
        self.seen: list[StoredEvent] = []
        self.failed: BaseException | None = None

    def run(self) -> None:
        try:
            place, ends = FEED_START, monotonic() + 60
            while monotonic() < ends:
                done = self.written.is_set()
                with self._units.reading() as uow:
                    page = uow.events.page(SHOP, EVERYTHING, self._limit, place)
                self.seen += page.events
                place = page.after
                if done and not page.events:
                    return
        except BaseException as error:
            self.failed = error


def _write(units: SqlUnits, writer: int) -> list[str]:
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
    units = SqlUnits(wide)
    readers = [_Reader(units, limit) for limit in (1, 7, 200)]
    for reader in readers:
        reader.start()
    with ThreadPoolExecutor(WRITERS) as pool:
        kept = [s for each in pool.map(lambda n: _write(units, n), range(WRITERS)) for s in each]
    for reader in readers:
        reader.written.set()
        reader.join(timeout=60)
        assert reader.failed is None
        assert not reader.is_alive()
    wide.dispose()
    orders = [[stored.event.subject_id for stored in reader.seen] for reader in readers]
    assert len(orders[0]) == len(set(orders[0]))
    assert set(orders[0]) == set(kept)
    assert orders[0] == orders[1] == orders[2] == _read(SqlUnits(engine), limit=1_000)[0]


@pytest.mark.postgres
def test_a_feed_goes_on_after_a_move_to_another_cluster(postgres_engine: Engine) -> None:
    # Another cluster counts transactions from a low number: as if these rows came from one that
    # was far ahead.
    units = SqlUnits(postgres_engine)
    with units.writing() as uow:
        uow.shops.add(SHOP, demo_shop())
        uow.commit()
    _store(units, "a", "b")
    with writing(postgres_engine).begin() as connection:
        connection.execute(text("UPDATE events SET turn = turn + 1000000000"))
    _store(units, "written before anybody said so")
    assert _read(units)[0] == ["written before anybody said so"]
    with writing(postgres_engine).begin() as connection:
        assert SqlEvents(Session(connection)).begin_era(NOW) == 1
    everything, _, _ = _read(units)
    assert everything == ["written before anybody said so", "a", "b"]
    place = _read(units, limit=3)[1]
    _store(units, "c")
    assert _read(units, place)[0] == ["c"]
