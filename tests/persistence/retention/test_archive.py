"""The archive's files: what goes in comes out, and what is not whole is known."""

from __future__ import annotations

import errno
import os
import resource
import stat
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from threading import Barrier

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.events.records import EventPlace, NewEvent, StoredEvent
from schemas.quotes.records import QuoteHead, Revision
from service.persistence.retention.archive import Archive, ArchiveRun
from service.persistence.retention.files import PART, files
from service.persistence.retention.members import HEADER, write_member
from service.persistence.retention.reading import Search, contents, search
from service.persistence.retention.records import (
    ArchiveUnavailable,
    Leaving,
    WholeQuote,
    WholeRevision,
)
from tests.persistence.retention.archives import (
    NOW,
    SHOP,
    a_quote,
    an_event,
    batches,
    kept,
    paper,
    read,
)

TEXT = st.text(max_size=40)
DOCUMENTS = st.text(max_size=200).map(str.encode)
INSTANTS = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
DAYS = st.dates(date(2000, 1, 1), date(2100, 1, 1))
WHOLE = st.integers(-(2**63), 2**63 - 1)
PAPERS = st.lists(st.builds(paper, TEXT), max_size=4).map(tuple)
HEADS = st.builds(
    QuoteHead,
    id=TEXT,
    shop_id=TEXT,
    serial=st.integers(10_001, 2**63 - 1),
    status=TEXT,
    revision=WHOLE,
    reference=TEXT,
    customer=DOCUMENTS,
    currency=TEXT,
    total_minor=WHOLE,
    created_at=INSTANTS,
    updated_at=INSTANTS,
    valid_until=DAYS,
    created_by=TEXT,
    version=WHOLE,
    deposit_minor=WHOLE,
    promised=st.none() | DAYS,
    reason=TEXT,
    offered_from=WHOLE,
)
WORKINGS = st.builds(
    Revision,
    request=DOCUMENTS,
    result=DOCUMENTS,
    papers=PAPERS,
    costs=DOCUMENTS,
    figures=st.none() | DOCUMENTS,
)
QUOTES = st.builds(
    WholeQuote,
    head=HEADS,
    revisions=st.lists(st.builds(WholeRevision, WHOLE, INSTANTS, TEXT, WORKINGS), max_size=3).map(
        tuple
    ),
)
EVENTS = st.builds(
    StoredEvent,
    place=st.builds(EventPlace, WHOLE, WHOLE),
    event=st.builds(
        NewEvent,
        shop_id=TEXT,
        key_id=TEXT,
        at=INSTANTS,
        kind=st.sampled_from(["quote.created", "shop.tidied"]),
        subject=TEXT,
        subject_id=TEXT,
        before=st.none() | DOCUMENTS,
        after=st.none() | DOCUMENTS,
    ),
)


@given(st.lists(st.lists(QUOTES, max_size=3), max_size=3), st.lists(EVENTS, max_size=5))
def test_what_is_written_is_read(quotes: list[list[WholeQuote]], events: list[StoredEvent]) -> None:
    with TemporaryDirectory() as place:
        kept(Path(place), *quotes, events)
        assert read(Path(place)) == [*(quote for batch in quotes for quote in batch), *events]
        (held,) = contents(Path(place))
        assert (held.quotes, held.events) == (sum(map(len, quotes)), len(events))
        assert (held.damaged, held.ended) == (0, True)


def test_any_program_reads_it_and_a_paper_stands_once_in_a_batch(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote(10_001), a_quote(10_002)], [an_event()])
    first, second, end = batches(path)
    assert first[0] == {"format": 1, "shop": SHOP, "at": "2026-03-01T09:30:00+00:00", "batch": 1}
    kinds = [kind for line in first[1:] for kind in line]
    assert kinds == ["paper", "paper", "paper", "quote", "paper", "quote"]
    assert first[4]["quote"]["number"] == "Q100014"
    assert first[4]["quote"]["revisions"][0]["result"] == '{"w":"16⅜"}'
    assert [*second[1]] == ["event"]
    assert [line.get("batches") for line in end] == [2]
    assert path.read_bytes().count(HEADER) == 3


def test_only_its_owner_reads_it(tmp_path: Path) -> None:
    folder = tmp_path / "archive"
    before = os.umask(0)
    try:
        Archive(folder).ready()
        path = kept(folder, [a_quote(customer=b'{"email":"a@example.com"}')])
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert Archive(folder).forget_customer(SHOP, "a@example.com") == 1
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        folder.chmod(0o750)
        Archive(folder).ready()  # what stands there is its owner's to say
        assert stat.S_IMODE(folder.stat().st_mode) == 0o750
    finally:
        os.umask(before)


def test_a_run_that_keeps_nothing_leaves_nothing(tmp_path: Path) -> None:
    with Archive(tmp_path).run(SHOP, NOW):
        assert len(files(tmp_path)) == 1
    assert files(tmp_path) == []


def test_shops_of_any_code_have_files_of_their_own(tmp_path: Path) -> None:
    for shop in ("corner", "corner.x", "../corner", "eck/ladén"):
        kept(tmp_path, [a_quote()], shop=shop)
    assert len({path.parent for path in files(tmp_path)}) == 1
    assert [held.shop for held in contents(tmp_path, "../corner")] == ["../corner"]
    assert {*search(tmp_path, serial=10_001).found} == {
        "corner",
        "corner.x",
        "../corner",
        "eck/ladén",
    }
    assert [*search(tmp_path, serial=10_001, shop="corner").found] == ["corner"]


def test_a_quote_is_found_by_its_latest_version(tmp_path: Path) -> None:
    kept(tmp_path, [a_quote(version=3)], [a_quote(version=3), a_quote(10_002)])
    kept(tmp_path, [a_quote(version=4, reason="dear"), a_quote(version=2)])
    found = search(tmp_path, serial=10_001)
    assert found.found == {SHOP: a_quote(version=4, reason="dear")}
    assert search(tmp_path, quote_id=a_quote().head.id) == found
    assert search(tmp_path, serial=10_003).found == {}
    assert search(tmp_path, quote_id='"').found == {}
    assert sum(held.quotes for held in contents(tmp_path)) == 5


def _broken_off(folder: Path, *batches: list[Leaving]) -> Path:
    """The file of a run that was killed after these batches."""
    run = ArchiveRun(folder, SHOP, NOW)
    for batch in batches:
        run.keep(batch)
    run.close()
    (path,) = files(folder)
    assert path.name.endswith(PART)
    return path


def test_a_batch_torn_anywhere_is_passed_over(tmp_path: Path) -> None:
    quotes = [a_quote(10_001 + n) for n in range(20)]
    path = _broken_off(tmp_path, [quotes[0]], [*quotes[1:]])
    data = path.read_bytes()
    begins = data.rindex(HEADER)
    for size in range(begins, len(data), 7):
        path.write_bytes(data[:size])
        assert read(tmp_path) == quotes[:1]
        (held,) = contents(tmp_path)
        assert (held.quotes, held.damaged, held.ended) == (1, 0, False)
        assert search(tmp_path, serial=10_001).found
        assert search(tmp_path, serial=10_002) == Search({}, damaged=0)
    path.write_bytes(data)
    assert read(tmp_path) == quotes
    for garbage in (b"\0" * 100, HEADER, b"x"):
        path.write_bytes(data + garbage)
        assert read(tmp_path) == quotes
        assert contents(tmp_path)[0].damaged == 0


def test_a_file_whose_run_ended_is_whole_or_damaged(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote()], [an_event()])
    data = path.read_bytes()
    for size in [0, *range(0, len(data), 7), data.rindex(HEADER)]:
        path.write_bytes(data[:size])
        assert contents(tmp_path)[0].damaged == 1
    for more in (b"x", HEADER, data[data.rindex(HEADER) :]):
        path.write_bytes(data + more)
        assert contents(tmp_path)[0].damaged == 1


def test_a_flipped_byte_is_found_and_spoils_its_own_batch_alone(tmp_path: Path) -> None:
    quotes = [a_quote(10_001 + n) for n in range(3)]
    path = kept(tmp_path, *([quote] for quote in quotes))
    data = path.read_bytes()
    starts = [at for at in range(len(data)) if data.startswith(HEADER, at)]
    for at in range(len(data)):
        path.write_bytes(data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :])
        (held,) = contents(tmp_path)
        assert held.damaged == 1, at
        hit = sum(start <= at for start in starts) - 1
        assert read(tmp_path) == [quote for n, quote in enumerate(quotes) if n != hit]


class _FullDisk:
    """A disk that takes so many bytes, some at a time, and no more."""

    def __init__(self, room: int) -> None:
        self.room = room

    def __call__(self, file: int, data: memoryview) -> int:
        if not self.room:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        taken = os.write(file, data[: min(self.room, 100)])
        self.room -= taken
        return taken


def test_a_full_disk_is_said_and_what_stood_there_still_does(tmp_path: Path) -> None:
    disk = _FullDisk(10**6)
    run = ArchiveRun(tmp_path, SHOP, NOW, disk)
    assert run.keep([a_quote(10_001)]) == 1
    (path,) = files(tmp_path)
    size = path.stat().st_size
    for room in range(0, size, 50):
        disk.room = room
        with pytest.raises(ArchiveUnavailable, match="cannot be written: no space left on device"):
            run.keep([a_quote(10_002)])
        assert path.stat().st_size == size
    disk.room = 10**6
    assert run.keep([a_quote(10_003)]) == 1
    run.finish()
    run.close()
    assert read(tmp_path) == [a_quote(10_001), a_quote(10_003)]
    assert contents(tmp_path)[0].damaged == 0


def test_a_limit_of_the_system_is_said_too(tmp_path: Path) -> None:
    noise = Random(1).randbytes(20_000).hex()
    quote = a_quote(reference=noise)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    with Archive(tmp_path).run(SHOP, NOW) as run:
        run.keep([a_quote(10_002)])
        resource.setrlimit(resource.RLIMIT_FSIZE, (4_096, hard))
        try:
            with pytest.raises(ArchiveUnavailable, match="cannot be written: file too large"):
                run.keep([quote])
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert read(tmp_path) == [a_quote(10_002)]
    assert contents(tmp_path)[0].damaged == 0


def test_what_cannot_be_read_is_not_kept_by_half(tmp_path: Path) -> None:
    def failing() -> Iterator[Leaving]:
        yield a_quote()
        raise RuntimeError("the database went away")

    with (
        pytest.raises(RuntimeError, match="went away"),
        Archive(tmp_path).run(SHOP, NOW) as run,
    ):
        run.keep(failing())
    assert read(tmp_path) == []
    assert contents(tmp_path)[0].damaged == 0


def test_a_batch_is_on_disk_before_it_counts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The order of what the system is asked; what it makes of it is its own."""
    asked: list[str] = []
    fsync, rename = os.fsync, Path.rename

    def synced(file: int) -> None:
        asked.append("folder" if stat.S_ISDIR(os.fstat(file).st_mode) else "file")
        fsync(file)

    def renamed(path: Path, to: Path) -> Path:
        asked.append("rename")
        return rename(path, to)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "rename", renamed)
    with Archive(tmp_path).run(SHOP, NOW) as run:
        run.keep([a_quote()])
        assert asked == ["file", "folder"]
        run.keep([a_quote()])
        assert asked == ["file", "folder", "file"]
    assert asked[3:] == ["file", "rename", "folder"]


def test_runs_at_once_never_meet(tmp_path: Path) -> None:
    barrier = Barrier(4)

    def one(number: int) -> None:
        with Archive(tmp_path).run(SHOP, NOW) as run:
            for batch in range(5):
                barrier.wait()
                run.keep([a_quote(10_001 + number * 5 + batch)])

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(one, range(4)))
    assert len(files(tmp_path)) == 4
    assert [held.damaged for held in contents(tmp_path)] == [0] * 4
    found = [quote for quote in read(tmp_path) if isinstance(quote, WholeQuote)]
    assert sorted(quote.head.serial for quote in found) == [*range(10_001, 10_021)]


def test_a_place_that_cannot_be_used_is_said(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.touch()
    for folder, words in (
        (file, f"{file} is not a folder"),
        (tmp_path / "no" / "archive", f"there is no folder {tmp_path / 'no'} to make"),
        (file / "archive", f"there is no folder {file} to make"),
    ):
        for ask in (Archive(folder).ready, lambda folder=folder: contents(folder)):
            with pytest.raises(ArchiveUnavailable) as refusal:
                ask()
            assert words in str(refusal.value)
            assert "FRAMING_QUOTES_ARCHIVE" in str(refusal.value)
    with pytest.raises(ArchiveUnavailable, match=r"no archive in .* yet"):
        contents(tmp_path / "archive")


def test_a_place_that_may_not_be_written_to_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(ArchiveUnavailable, match="this user may not write to"):
        Archive(tmp_path).ready()
    refusal = PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    def refuse(*_: object) -> int:
        raise refusal

    monkeypatch.setattr(os, "open", refuse)
    with (
        pytest.raises(ArchiveUnavailable, match="cannot be written: permission denied"),
        Archive(tmp_path).run(SHOP, NOW),
    ):
        pass


def test_other_files_in_the_folder_are_left_alone(tmp_path: Path) -> None:
    kept(tmp_path, [a_quote()])
    for name in ("notes.txt", "x.ndjson.gz", f"{files(tmp_path)[0].name}.new"):
        (tmp_path / name).write_bytes(b"x")
    assert len(contents(tmp_path)) == 1
    assert contents(tmp_path)[0].damaged == 0


def test_a_later_release_is_named_and_nothing_called_damaged(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote()])
    with path.open("wb") as out:
        write_member(out, {"shop": SHOP, "format": 2}, [b'{"quote":[]}'])
    for ask in (
        lambda: contents(tmp_path),
        lambda: search(tmp_path, serial=10_001),
        lambda: Archive(tmp_path).forget_customer(SHOP, "a@example.com"),
    ):
        with pytest.raises(ArchiveUnavailable, match="written by a later release"):
            ask()
