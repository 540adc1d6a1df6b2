"""Taking customers out of the archive: who goes, what stays to the byte, and what breaks it off."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from random import Random
from threading import Event, Thread

import pytest

from service.persistence.retention import archive as archive_module
from service.persistence.retention.archive import Archive
from service.persistence.retention.customers import without_customer
from service.persistence.retention.files import opened
from service.persistence.retention.reading import contents, search
from service.persistence.retention.records import ArchiveUnavailable, WholeQuote
from tests.persistence.retention.archives import (
    NOW,
    OKAFOR,
    SHOP,
    a_quote,
    an_event,
    kept,
    plain,
    read,
)

CALLER = b'{"name":"A. Caller","email":"a.caller@example.com"}'


def _forget(folder: Path, email: str = " m.okafor@EXAMPLE.com") -> int:
    return Archive(folder).forget_customer(SHOP, email)


def test_one_customer_goes_and_all_else_stays_to_the_byte(tmp_path: Path) -> None:
    here = kept(tmp_path, [a_quote(10_001, CALLER)], [a_quote(10_002, OKAFOR), an_event()])
    elsewhere = kept(tmp_path, [a_quote(10_002, OKAFOR)], shop="harbour")
    untouched = elsewhere.read_bytes()
    assert _forget(tmp_path) == 1
    assert b"Okafor" not in here.read_bytes()
    assert untouched == elsewhere.read_bytes()
    first, found, event = read(tmp_path, SHOP)
    assert (first, event) == (a_quote(10_001, CALLER), an_event())
    assert isinstance(found, WholeQuote)
    assert [held.damaged for held in contents(tmp_path)] == [0, 0]
    assert search(tmp_path, serial=10_002, shop=SHOP).found[SHOP] == found
    was = a_quote(10_002, OKAFOR)
    assert (found.head.customer, found.head.version) == (b"{}", was.head.version + 1)
    for now, then in zip(found.revisions, was.revisions, strict=True):
        assert now.working.result == then.working.result
        assert now.working.papers == then.working.papers
        assert now.working.request == without_customer(then.working.request) == b'{"n":16.37500}'
    assert _forget(tmp_path) == 0
    assert {*tmp_path.iterdir()} == {here, elsewhere}


def test_no_byte_of_a_name_stays_in_the_file(tmp_path: Path) -> None:
    """Rows of every size, written in no order, moved about by later ones and by a later version."""
    random = Random(5)
    serials = [*range(10_001, 10_201)]
    random.shuffle(serials)
    for start in range(0, len(serials), 20):
        kept(
            tmp_path,
            [
                a_quote(
                    serial,
                    b'{"email":"who%d@example.com","name":"Somebody %s"}'
                    % (serial % 4, b"x" * random.randrange(3_000)),
                    reference="y" * random.randrange(500),
                )
                for serial in serials[start : start + 20]
            ],
        )
    for who in (1, 3):
        assert plain(tmp_path).count(b"who%d@" % who) >= 50
        assert _forget(tmp_path, f"who{who}@example.com") == 50
        assert b"who%d@" % who not in plain(tmp_path)
    assert plain(tmp_path).count(b"who2@") >= 50
    assert contents(tmp_path)[0].damaged == 0


def test_a_name_that_a_later_version_has_not_goes_too(tmp_path: Path) -> None:
    """As after a run that was broken off: the database forgot the customer before the next."""
    kept(tmp_path, [a_quote(10_001, OKAFOR)], [a_quote(10_002, CALLER)])
    kept(tmp_path, [a_quote(10_001, version=3)])
    assert _forget(tmp_path, "a.caller@example.com") == 1
    assert b"Okafor" not in plain(tmp_path)


def test_a_quote_that_stands_there_twice_counts_once(tmp_path: Path) -> None:
    kept(tmp_path, [a_quote(10_001, OKAFOR)])
    with Archive(tmp_path).batch(SHOP, NOW.replace(year=2027)) as batch:
        batch.keep([a_quote(10_001, OKAFOR)])
    assert _forget(tmp_path) == 1
    versions = [quote.head.version for quote in read(tmp_path) if isinstance(quote, WholeQuote)]
    assert versions == [3, 3]


def test_customers_of_old_quotes_go_and_of_others_stay(tmp_path: Path) -> None:
    kept(tmp_path, [a_quote(10_001 + days, OKAFOR) for days in range(5)])
    archive = Archive(tmp_path)
    assert archive.forget_customers("harbour", NOW + timedelta(days=2)) == 0
    assert archive.forget_customers(SHOP, NOW + timedelta(days=2)) == 2
    assert archive.forget_customers(SHOP, NOW + timedelta(days=2)) == 0
    named = [
        quote.head.serial
        for quote in read(tmp_path)
        if isinstance(quote, WholeQuote) and quote.head.customer == OKAFOR
    ]
    assert named == [10_003, 10_004, 10_005]


def test_nobody_is_named_in_an_archive_that_is_not_there(tmp_path: Path) -> None:
    assert _forget(tmp_path / "archive") == 0


@pytest.mark.parametrize("table", ["quotes", "revisions"])
def test_what_is_damaged_stays_and_is_told(tmp_path: Path, table: str) -> None:
    path = kept(tmp_path, [a_quote(10_001, OKAFOR), a_quote(10_002, OKAFOR)])
    other = kept(tmp_path, [a_quote(10_003, CALLER)], shop="harbour")
    where = f"UPDATE {table} SET sha256 = 'other' WHERE rowid = 1"  # noqa: S608 — of constants
    with closing(sqlite3.connect(path)) as file:
        file.execute(where)
        file.commit()
    with pytest.raises(ArchiveUnavailable) as refusal:
        _forget(tmp_path)
    assert path.name in str(refusal.value)
    assert other.name not in str(refusal.value)
    with closing(sqlite3.connect(path)) as file:
        named = file.execute("SELECT count(*) FROM revisions WHERE instr(request, 'Okafor')")
        assert named.fetchone() == (2 if table == "quotes" else 1,)
    path.write_bytes(path.read_bytes()[:5_000])
    with pytest.raises(ArchiveUnavailable, match=path.name):
        _forget(tmp_path)


def test_broken_off_on_the_way_it_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = kept(tmp_path, [a_quote(10_001, OKAFOR), a_quote(10_002, OKAFOR)])
    data = path.read_bytes()

    def full(sent: bytes) -> bytes:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(archive_module, "without_customer", full)
        with pytest.raises(ArchiveUnavailable, match="cannot be written anew: no space left"):
            _forget(tmp_path)
    assert path.read_bytes() == data
    assert _forget(tmp_path) == 2
    assert [*tmp_path.iterdir()] == [path]


def test_broken_off_before_the_file_is_written_anew_the_next_does_it(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote(10_001, OKAFOR), a_quote(10_002)])
    with opened(path) as file:  # as it stands after the first of the two transactions
        file.execute("PRAGMA user_version = 1")
        file.execute("DELETE FROM quotes WHERE serial = 10001")
        (free,) = file.execute("SELECT count(*) FROM pragma_freelist_count").fetchone()
    size = path.stat().st_size
    with opened(path) as file:
        file.execute("DELETE FROM revisions")
    assert (free, _forget(tmp_path), path.stat().st_size <= size) == (1, 0, True)
    with opened(path) as file:
        assert file.execute("PRAGMA user_version").fetchone()[0] == 0


def test_it_waits_for_a_batch_that_is_being_written(tmp_path: Path) -> None:
    begun = Event()
    gone: list[int] = []

    def forget() -> None:
        begun.set()
        gone.append(_forget(tmp_path))

    with Archive(tmp_path).batch(SHOP, NOW) as batch:
        batch.keep([a_quote(10_001, OKAFOR)])
        waiting = Thread(target=forget)
        waiting.start()
        begun.wait()
        waiting.join(0.3)
        assert waiting.is_alive()
        batch.keep([a_quote(10_002, OKAFOR)])
    waiting.join(60)
    assert gone == [2]
    assert b"Okafor" not in plain(tmp_path)
    assert [held.damaged for held in contents(tmp_path)] == [0]


def test_two_at_once_forget_both(tmp_path: Path) -> None:
    kept(tmp_path, [a_quote(10_001 + number, OKAFOR) for number in range(5)])
    kept(tmp_path, [a_quote(10_011 + number, CALLER) for number in range(5)])
    both = [
        Thread(target=_forget, args=(tmp_path, email))
        for email in ("m.okafor@example.com", "a.caller@example.com")
    ]
    for one in both:
        one.start()
    for one in both:
        one.join(60)
    assert b"Okafor" not in plain(tmp_path)
    assert b"Caller" not in plain(tmp_path)
    assert [(held.quotes, held.damaged) for held in contents(tmp_path)] == [(10, 0)]
