"""Taking customers out of the archive: who goes, what stays to the byte, and what breaks it off."""

from __future__ import annotations

import errno
import gzip
import os
from datetime import timedelta
from pathlib import Path
from threading import Event, Thread

import pytest

from service.persistence.retention.archive import Archive, ArchiveRun
from service.persistence.retention.customers import without_customer
from service.persistence.retention.files import PART, files, finished
from service.persistence.retention.members import HEADER
from service.persistence.retention.reading import contents, search
from service.persistence.retention.records import ArchiveUnavailable, WholeQuote
from tests.persistence.retention.archives import NOW, OKAFOR, SHOP, a_quote, an_event, kept, read

CALLER = b'{"name":"A. Caller","email":"a.caller@example.com"}'


def _forget(folder: Path, email: str = " m.okafor@EXAMPLE.com") -> int:
    return Archive(folder).forget_customer(SHOP, email)


def _plain(folder: Path) -> bytes:
    """All that the files of a shop say, unpacked where they can be."""
    return b"".join(
        gzip.decompress(member) for path in files(folder, SHOP) for member in _members(path)
    )


def _members(path: Path) -> list[bytes]:
    return [HEADER + each for each in path.read_bytes().split(HEADER)[1:]]


def test_one_customer_goes_and_all_else_stays_to_the_byte(tmp_path: Path) -> None:
    first = kept(tmp_path, [a_quote(10_001, CALLER)], [a_quote(10_002, OKAFOR), an_event()])
    second = kept(tmp_path, [a_quote(10_003)], [a_quote(10_004, CALLER)])
    elsewhere = kept(tmp_path, [a_quote(10_002, OKAFOR)], shop="harbour")
    before, untouched = _members(first), (second.read_bytes(), elsewhere.read_bytes())
    assert _forget(tmp_path) == 1
    assert b"Okafor" not in _plain(tmp_path)
    after = _members(first)
    assert (after[0], after[2]) == (before[0], before[2])
    assert after[1] != before[1]
    assert untouched == (second.read_bytes(), elsewhere.read_bytes())
    assert [held.damaged for held in contents(tmp_path)] == [0, 0, 0]
    found = search(tmp_path, serial=10_002, shop=SHOP).found[SHOP]
    was = a_quote(10_002, OKAFOR)
    assert (found.head.customer, found.head.version) == (b"{}", was.head.version + 1)
    for now, then in zip(found.revisions, was.revisions, strict=True):
        assert now.working.result == then.working.result
        assert now.working.papers == then.working.papers
        assert now.working.request == without_customer(then.working.request) == b'{"n":16.37500}'
    assert _forget(tmp_path) == 0
    assert {*tmp_path.iterdir()} == {first, second, elsewhere}


def test_a_quote_that_stands_there_twice_counts_once(tmp_path: Path) -> None:
    kept(tmp_path, [a_quote(10_001, OKAFOR)], [a_quote(10_001, OKAFOR)])
    kept(tmp_path, [a_quote(10_001, OKAFOR)])
    assert _forget(tmp_path) == 1
    assert {quote.head.version for quote in read(tmp_path) if isinstance(quote, WholeQuote)} == {3}


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


def test_what_was_torn_goes_too(tmp_path: Path) -> None:
    """It may name the customer, and was never erased from the database."""
    run = ArchiveRun(tmp_path, SHOP, NOW)
    run.keep([a_quote(10_001)])
    run.keep([a_quote(10_002, OKAFOR)])
    run.close()
    (path,) = files(tmp_path)
    os.truncate(path, path.stat().st_size - 30)
    assert _forget(tmp_path) == 0
    assert path.name.endswith(PART)
    assert _members(path) != []
    assert read(tmp_path) == [a_quote(10_001)]
    assert path.read_bytes().count(HEADER) == 1


def test_what_is_damaged_stays_and_is_told(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote(10_001, OKAFOR)], [a_quote(10_002, OKAFOR)])
    other = kept(tmp_path, [a_quote(10_003, OKAFOR)])
    data = bytearray(path.read_bytes())
    data[len(HEADER) + 40] ^= 0xFF
    path.write_bytes(data)
    damaged = _members(path)[0]
    with pytest.raises(ArchiveUnavailable) as refusal:
        _forget(tmp_path)
    assert path.name in str(refusal.value)
    assert other.name not in str(refusal.value)
    assert b"Okafor" not in repr(read(tmp_path)).encode()
    assert _members(path)[0] == damaged


def test_a_crash_on_the_way_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = kept(tmp_path, [a_quote(10_001, OKAFOR)])
    data = path.read_bytes()
    with monkeypatch.context() as broken:

        def full(file: int) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        broken.setattr(os, "fsync", full)
        with pytest.raises(ArchiveUnavailable, match="cannot be written anew: no space left"):
            _forget(tmp_path)
    assert path.read_bytes() == data
    assert (tmp_path / f"{path.name}.new").exists()
    assert [held.damaged for held in contents(tmp_path)] == [0]
    assert _forget(tmp_path) == 1
    assert [*tmp_path.iterdir()] == [path]


def test_it_waits_for_a_run_that_still_writes(tmp_path: Path) -> None:
    begun = Event()
    gone: list[int] = []

    def forget() -> None:
        begun.set()
        gone.append(_forget(tmp_path))

    with Archive(tmp_path).run(SHOP, NOW) as run:
        (part,) = files(tmp_path)
        run.keep([a_quote(10_001, OKAFOR)])
        waiting = Thread(target=forget)
        waiting.start()
        begun.wait()
        waiting.join(0.3)
        assert waiting.is_alive()
        run.keep([a_quote(10_002, OKAFOR)])
    waiting.join(60)
    assert gone == [2]
    assert files(tmp_path) == [finished(part)]
    assert b"Okafor" not in _plain(tmp_path)
    assert [held.damaged for held in contents(tmp_path)] == [0]


def test_two_at_once_forget_both(tmp_path: Path) -> None:
    for number in range(5):
        kept(tmp_path, [a_quote(10_001 + number, OKAFOR)], [a_quote(10_011 + number, CALLER)])
    both = [
        Thread(target=_forget, args=(tmp_path, email))
        for email in ("m.okafor@example.com", "a.caller@example.com")
    ]
    for one in both:
        one.start()
    for one in both:
        one.join(60)
    plain = _plain(tmp_path)
    assert b"Okafor" not in plain
    assert b"Caller" not in plain
    assert [(held.quotes, held.damaged) for held in contents(tmp_path)] == [(2, 0)] * 5
