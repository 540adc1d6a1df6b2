"""What tidy erases and the archive keeps, through the real calls and on each database."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from threading import Barrier, Thread
from typing import Any

import pytest
from sqlalchemy import Row, select

from schemas.events.records import StoredEvent
from service.app import retention
from service.app.retention import Erased, Forgotten, Terms, forget, tidy
from service.persistence.events.tables import events
from service.persistence.quotes import papers, quote_revisions, quotes
from service.persistence.retention.archive import Archive, Batch
from service.persistence.retention.reading import contents, search
from service.persistence.retention.records import ArchiveUnavailable, Leaving, WholeQuote
from service.persistence.unit_of_work import UnitsOfWork
from tests.api.world import World, job
from tests.persistence.retention.archives import read

ANY = {"If-Match": "*"}
OKAFOR = "m.okafor@example.com"
ALL = Terms(unsold_days=400, events_days=400, customers_days=0)
SHOP = "lanternquay"
Meddle = Callable[[Batch, Iterable[Leaving]], int]
"""Keeps records in a batch, or does not, and does something else besides."""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    made = Archive(tmp_path / "archive")
    made.ready()
    return made


def _quote(world: World, **customer: str) -> str:
    document = {**job(), "customer": customer or {"name": "M. Okafor", "email": OKAFOR}}
    made = world.post("/v1/quotes", document)
    assert made.status_code == 201, made.get_json()
    return str(made.get_json()["id"])


def _revised(world: World, quote: str) -> None:
    document = {**job(), "customer": {"name": "M. Okafor", "email": OKAFOR}}
    done = world.post(f"/v1/quotes/{quote}/revisions", document, headers=ANY)
    assert done.status_code in (200, 201), done.get_json()


def _rows(world: World, table: Any) -> list[Row[Any]]:
    with world.wiring.engine.connect() as connection:
        return list(connection.execute(select(table)))


def _tidied(world: World, archive: Any, terms: Terms = ALL) -> Erased:
    return tidy(world.wiring.units, world.shop_id, terms, world.clock(), archive)


def _archived(archive: Archive) -> list[WholeQuote]:
    return [each for each in read(archive.folder, SHOP) if isinstance(each, WholeQuote)]


def _note(world: World) -> dict[str, int]:
    note: dict[str, int] = json.loads(_rows(world, events)[-1].after)
    return note


def test_what_goes_is_found_again_to_the_byte(world: World, archive: Archive) -> None:
    sold, revised, plain = _quote(world), _quote(world), _quote(world)
    assert world.post(f"/v1/quotes/{sold}/accept", {}, headers=ANY).status_code == 200
    _revised(world, revised)
    world.clock.move(days=401)
    heads = {row.id: row for row in _rows(world, quotes)}
    workings = {(row.quote_id, row.revision): row for row in _rows(world, quote_revisions)}
    documents = {row.digest: row.document for row in _rows(world, papers)}
    happened = {row.id: row for row in _rows(world, events)}
    told = _tidied(world, archive)
    assert (told.quotes, told.archived_quotes) == (2, 2)
    assert (told.events, told.archived_events) == (len(happened), len(happened))
    assert {row.id for row in _rows(world, quotes)} == {sold}
    assert {row.quote_id for row in _rows(world, quote_revisions)} == {sold}
    assert [row.kind for row in _rows(world, events)] == ["shop.tidied"]
    facts = {"quotes": 2, "archived_quotes": 2}
    assert _note(world).items() >= facts.items()
    assert _note(world)["archived_events"] == len(happened)
    for quote_id in (revised, plain):
        head = heads[quote_id]
        found = search(archive.folder, serial=head.serial).found[SHOP]
        assert found == search(archive.folder, quote_id=quote_id).found[SHOP]
        for name, value in head._mapping.items():
            if name != "words":  # they are made of the rest, to be searched by
                assert getattr(found.head, name) == value
        assert len(found.revisions) == 1 + (quote_id == revised)
        for revision in found.revisions:
            row, working = workings[quote_id, revision.number], revision.working
            assert working.request == row.request
            assert working.result == row.result
            assert working.costs == row.costs
            assert (revision.created_at, revision.choice) == (row.created_at, row.choice)
            assert " ".join(f"{one.kind}:{one.digest}" for one in working.papers) == row.papers
            for one in working.papers:
                assert one.document == documents[one.digest]
                assert hashlib.sha256(one.document).hexdigest() == one.digest
    left = [each for each in read(archive.folder) if isinstance(each, StoredEvent)]
    assert {each.place.id for each in left} == {*happened}
    for each in left:
        row = happened[each.place.id]
        assert each.place.turn == row.turn
        for name in ("shop_id", "key_id", "at", "kind", "subject", "subject_id", "before", "after"):
            assert getattr(each.event, name) == getattr(row, name)
    assert [held.damaged for held in contents(archive.folder)] == [0]
    assert _tidied(world, archive) == Erased()
    assert len(contents(archive.folder)) == 1


def test_batches_are_kept_one_by_one(
    world: World, archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(retention, "A_BATCH", 2)
    made = {_quote(world, name=f"Caller {number}") for number in range(5)}
    world.clock.move(days=401)
    assert _tidied(world, archive).archived_quotes == 5
    assert {quote.head.id for quote in _archived(archive)} == made
    assert _rows(world, quotes) == []


def test_another_shop_has_its_own_file(world: World, archive: Archive) -> None:
    _quote(world)
    world.clock.move(days=401)
    for shop_id in (world.shop_id, world.other_shop_id):
        tidy(world.wiring.units, shop_id, ALL, world.clock(), archive)
    assert {held.shop: held.quotes for held in contents(archive.folder)}[SHOP] == 1


class _NoCommit:
    """Units of work that die instead of committing, as a killed process would."""

    def __init__(self, units: UnitsOfWork) -> None:
        self._units = units

    def reading(self) -> Any:
        return self._units.reading()

    def writing(self, lock_seconds: float | None = None) -> Any:
        uow = self._units.writing()
        uow.commit = self._die  # type: ignore[method-assign]
        return uow

    def _die(self) -> None:
        raise KeyboardInterrupt


def test_a_crash_between_archive_and_commit_loses_nothing(world: World, archive: Archive) -> None:
    quote = _quote(world)
    world.clock.move(days=401)
    units = _NoCommit(world.wiring.units)
    with pytest.raises(KeyboardInterrupt):
        tidy(units, world.shop_id, ALL, world.clock(), archive)
    assert [row.id for row in _rows(world, quotes)] == [quote]
    assert [each.head.id for each in _archived(archive)] == [quote]
    (held,) = contents(archive.folder)
    assert held.damaged == 0
    (first,) = _archived(archive)
    assert _tidied(world, archive).archived_quotes == 1
    assert _rows(world, quotes) == []
    assert _archived(archive) == [first]
    assert search(archive.folder, quote_id=quote).found[SHOP] == first


class _Meddled(Archive):
    """An archive in which a test's `meddle` stands between a batch and its records."""

    def __init__(self, folder: Path, meddle: Meddle) -> None:
        super().__init__(folder)
        self.meddle = meddle

    @contextmanager
    def batch(self, shop: str, at: datetime) -> Iterator[Any]:
        with super().batch(shop, at) as batch:
            yield _MeddledBatch(batch, self.meddle)


class _MeddledBatch:
    def __init__(self, batch: Batch, meddle: Meddle) -> None:
        self._batch = batch
        self._meddle = meddle

    def keep(self, records: Iterable[Leaving]) -> int:
        return self._meddle(self._batch, records)


def _refusing(folder: Path, batches: int) -> Archive:
    """An archive whose disk is full after so many batches."""
    left = iter(range(batches))

    def meddle(batch: Batch, records: Iterable[Leaving]) -> int:
        if next(left, None) is None:
            raise ArchiveUnavailable("the disk is full")
        return batch.keep(records)

    return _Meddled(folder, meddle)


def test_nothing_is_erased_that_the_archive_did_not_take(
    world: World, archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(retention, "A_BATCH", 2)
    made = {_quote(world, name=f"Caller {number}") for number in range(5)}
    world.clock.move(days=401)
    with pytest.raises(ArchiveUnavailable):
        _tidied(world, _refusing(archive.folder, 1))
    left = {row.id for row in _rows(world, quotes)}
    assert len(left) == 3
    assert {each.head.id for each in _archived(archive)} == made - left
    assert _note(world) == {"quotes": 2, "archived_quotes": 2}
    with pytest.raises(ArchiveUnavailable):
        _tidied(world, _refusing(archive.folder, 0))
    assert {row.id for row in _rows(world, quotes)} == left
    assert _tidied(world, archive).quotes == 3


def _between(folder: Path, happens: Callable[[], object], *, on_disk: bool = True) -> Archive:
    """An archive that lets something happen once: when the first batch was read, or is on disk."""
    left = iter([happens])

    def meddle(batch: Batch, records: Iterable[Leaving]) -> int:
        read = list(records)
        happens = next(left, lambda: None)
        if not on_disk:
            happens()
        count = batch.keep(read)
        if on_disk:
            happens()
        return count

    return _Meddled(folder, meddle)


@pytest.mark.parametrize("on_disk", [False, True])
def test_what_was_changed_meanwhile_stays(world: World, archive: Archive, on_disk: bool) -> None:
    quote, other = _quote(world), _quote(world)
    world.clock.move(days=401)
    between = _between(archive.folder, lambda: _revised(world, quote), on_disk=on_disk)
    told = _tidied(world, between, Terms(400, 0, 0))
    assert (told.quotes, told.archived_quotes) == (1, 2)
    assert [row.id for row in _rows(world, quotes)] == [quote]
    assert len(_rows(world, quote_revisions)) == 2
    assert {each.head.id for each in _archived(archive)} == {quote, other}
    world.clock.move(days=500)
    assert _tidied(world, archive).quotes == 1
    assert len(search(archive.folder, quote_id=quote).found[SHOP].revisions) == 2


@pytest.mark.parametrize("on_disk", [False, True])
def test_a_customer_forgotten_while_tidy_runs_is_forgotten_in_both(
    world: World, archive: Archive, on_disk: bool
) -> None:
    quote, other = _quote(world), _quote(world, name="A. Caller", email="a.caller@example.com")
    world.clock.move(days=401)
    done: list[Forgotten] = []

    def forgets() -> None:
        clock, units = world.clock(), world.wiring.units
        done.append(forget(units, world.shop_id, OKAFOR, clock, Archive(archive.folder)))

    thread = Thread(target=forgets)

    def begins() -> None:
        thread.start()
        while any(row.customer != b"{}" for row in _rows(world, quotes) if row.id == quote):
            thread.join(0.01)

    _tidied(world, _between(archive.folder, begins, on_disk=on_disk), Terms(400, 0, 0))
    thread.join(60)
    assert done == [Forgotten(quotes=1, archived=1)]
    assert [row.id for row in _rows(world, quotes)] == [quote]
    assert "okafor" not in repr(_archived(archive)).lower()
    assert "okafor" not in repr(_rows(world, quotes) + _rows(world, quote_revisions)).lower()
    assert search(archive.folder, quote_id=other).found[SHOP].head.customer != b"{}"


def test_two_at_once_keep_everything_between_them(
    world: World, archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(retention, "A_BATCH", 3)
    made = {_quote(world, name=f"Caller {number}") for number in range(10)}
    world.clock.move(days=401)
    barrier = Barrier(2)

    def one(_: int) -> Erased:
        barrier.wait()
        return _tidied(world, Archive(archive.folder))

    with ThreadPoolExecutor(2) as pool:
        told = list(pool.map(one, range(2)))
    assert sum(each.quotes for each in told) == 10
    assert _rows(world, quotes) == []
    assert {each.head.id for each in _archived(archive)} == made
    assert {held.damaged for held in contents(archive.folder)} == {0}
    for quote in made:
        assert search(archive.folder, quote_id=quote).found[SHOP].revisions


def test_a_customer_who_asks_is_forgotten_in_the_archive_too(
    world: World, archive: Archive
) -> None:
    old, other = _quote(world), _quote(world, name="A. Caller", email="a.caller@example.com")
    world.clock.move(days=401)
    _tidied(world, archive)
    new = _quote(world, name="M. Okafor", email="M.Okafor@Example.com")
    was = search(archive.folder, quote_id=old).found[SHOP]
    gone = forget(world.wiring.units, world.shop_id, f" {OKAFOR.upper()} ", world.clock(), archive)
    assert gone == Forgotten(quotes=1, archived=1)
    assert "okafor" not in repr(read(archive.folder)).lower()
    assert world.ask("GET", f"/v1/quotes/{new}").get_json()["customer"] == {}
    now = search(archive.folder, quote_id=old).found[SHOP]
    assert now.revisions[0].working.result == was.revisions[0].working.result
    assert b"a.caller" in search(archive.folder, quote_id=other).found[SHOP].head.customer
    notes = world.ask("GET", "/v1/events?kind=customer.forgotten", "admin").get_json()["items"]
    assert [each["after"] for each in notes] == [{"quotes": 1}, {"archived": 1}]
    units = world.wiring.units
    assert forget(units, world.shop_id, OKAFOR, world.clock(), archive) == Forgotten()
    assert forget(units, world.other_shop_id, OKAFOR, world.clock(), archive) == Forgotten()


def test_names_stay_in_the_archive_no_longer_than_in_the_database(
    world: World, archive: Archive
) -> None:
    terms = Terms(unsold_days=400, events_days=0, customers_days=900)
    _quote(world)
    world.clock.move(days=450)
    late = _quote(world)
    assert _tidied(world, archive, terms).archived_quotes == 1
    world.clock.move(days=440)
    assert _tidied(world, archive, terms).archived_quotes == 1
    assert all(quote.head.customer != b"{}" for quote in _archived(archive))
    world.clock.move(days=11)
    told = _tidied(world, archive, terms)
    assert (told.customers, told.archived_customers) == (0, 1)
    assert _note(world) == {"archived_customers": 1}
    assert [quote.head.id for quote in _archived(archive) if quote.head.customer != b"{}"] == [late]
    assert _tidied(world, archive, terms) == Erased()
    world.clock.move(days=1000)
    assert _tidied(world, archive, terms).archived_customers == 1


def test_a_name_that_has_had_its_time_never_gets_there(world: World, archive: Archive) -> None:
    quote = _quote(world)
    world.clock.move(days=401)
    told = _tidied(world, archive, Terms(400, 0, 400))
    assert (told.customers, told.archived_quotes, told.archived_customers) == (1, 1, 0)
    found = search(archive.folder, quote_id=quote).found[SHOP]
    assert found.head.customer == b"{}"
    assert b"customer" not in found.revisions[0].working.request
