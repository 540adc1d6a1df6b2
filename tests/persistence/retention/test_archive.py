"""The archive's files: what goes in comes out, and what is not whole is known."""

from __future__ import annotations

import errno
import os
import resource
import shutil
import sqlite3
import stat
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from threading import Barrier

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.events.records import EventPlace, NewEvent, StoredEvent
from schemas.quotes.records import QuoteHead, Revision
from service.persistence.retention.archive import Archive
from service.persistence.retention.files import file_for, files
from service.persistence.retention.reading import Search, contents, search
from service.persistence.retention.records import (
    ArchiveUnavailable,
    Damaged,
    Leaving,
    WholeQuote,
    WholeRevision,
)
from tests.persistence.retention.archives import NOW, SHOP, a_quote, an_event, kept, paper, read

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
    revisions=st.lists(
        st.builds(WholeRevision, WHOLE, INSTANTS, TEXT, WORKINGS),
        max_size=3,
        unique_by=lambda revision: revision.number,
    ).map(lambda made: tuple(sorted(made, key=lambda revision: revision.number))),
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


@settings(max_examples=60)  # each waits for the disk a dozen times
@given(
    st.lists(QUOTES, max_size=6, unique_by=lambda quote: quote.head.id),
    st.lists(EVENTS, max_size=5, unique_by=lambda event: event.place),
)
def test_what_is_written_is_read(quotes: list[WholeQuote], events: list[StoredEvent]) -> None:
    with TemporaryDirectory() as place:
        kept(Path(place), quotes[:3], quotes[3:], events)
        quotes.sort(key=lambda quote: quote.head.id)
        assert read(Path(place)) == [*quotes, *sorted(events, key=lambda event: event.place)]
        (held,) = contents(Path(place))
        assert (held.quotes, held.events, held.damaged) == (len(quotes), len(events), 0)


def test_any_program_reads_it_and_a_paper_stands_once_in_a_year(tmp_path: Path) -> None:
    """Read by the standard library alone."""
    path = kept(tmp_path, [a_quote(10_001)], [a_quote(10_002)], [an_event()])
    with closing(sqlite3.connect(path)) as file:
        (number,) = file.execute("SELECT number FROM quotes WHERE serial = 10001").fetchone()
        assert number == "Q100014"
        texts = file.execute("SELECT CAST(result AS TEXT) FROM revisions ORDER BY quote_id, number")
        assert [*texts] == [('{"w":"16⅜"}',)] * 4
        assert file.execute("SELECT count(*), count(DISTINCT sha256) FROM papers").fetchone() == (
            4,
            4,
        )
        assert file.execute("SELECT kind, at FROM events").fetchall() == [
            ("quote.created", "2026-03-02T09:30:00Z")
        ]


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


def test_a_shop_and_a_year_have_a_file_of_their_own(tmp_path: Path) -> None:
    for year in (2026, 2027):
        with Archive(tmp_path).batch(SHOP, NOW.replace(year=year)) as batch:
            assert batch.keep([a_quote(10_000 + year)]) == 1
    assert [path.name for path in files(tmp_path)] == ["corner.2026.sqlite3", "corner.2027.sqlite3"]
    assert [held.quotes for held in contents(tmp_path)] == [1, 1]


def test_shops_of_any_code_have_files_of_their_own(tmp_path: Path) -> None:
    shops = ("corner", "corner.x", "../corner", "eck/ladén")
    for shop in shops:
        kept(tmp_path, [a_quote()], shop=shop)
    assert len({path.parent for path in files(tmp_path)}) == 1
    assert [held.shop for held in contents(tmp_path, "../corner")] == ["../corner"]
    assert {*search(tmp_path, serial=10_001).found} == {*shops}
    assert [*search(tmp_path, serial=10_001, shop="corner").found] == ["corner"]


def test_a_quote_is_found_by_its_latest_version(tmp_path: Path) -> None:
    kept(tmp_path, [a_quote(version=3)], [a_quote(version=3), a_quote(10_002)])
    with Archive(tmp_path).batch(SHOP, NOW.replace(year=2027)) as batch:
        batch.keep([a_quote(version=4, reason="dear"), a_quote(version=2)])
    found = search(tmp_path, serial=10_001)
    assert found.found == {SHOP: a_quote(version=4, reason="dear")}
    assert search(tmp_path, quote_id=a_quote().head.id) == found
    assert search(tmp_path, serial=10_003).found == {}
    assert search(tmp_path, quote_id='"').found == {}
    assert sum(held.quotes for held in contents(tmp_path)) == 3


def test_a_column_that_a_later_release_adds_is_empty_in_older_rows(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote()])
    with closing(sqlite3.connect(path)) as file:
        file.execute("ALTER TABLE quotes DROP COLUMN reason")
        file.execute("ALTER TABLE revisions DROP COLUMN figures")
        file.execute("ALTER TABLE quotes ADD COLUMN of_a_later_release")
    assert kept(tmp_path, [a_quote(10_002, reason="dear")]) == path
    with closing(sqlite3.connect(path)) as file:
        told = file.execute("SELECT reason, of_a_later_release FROM quotes ORDER BY serial")
        assert [*told] == [(None, None), ("dear", None)]


def test_a_file_that_was_only_created_holds_nothing(tmp_path: Path) -> None:
    file_for(tmp_path, SHOP, 2026)
    assert search(tmp_path, serial=10_001) == Search({}, damaged=0)
    (held,) = contents(tmp_path)
    assert (held.quotes, held.events, held.damaged) == (0, 0, 0)
    assert Archive(tmp_path).forget_customer(SHOP, "a@example.com") == 0


def test_a_batch_that_is_broken_off_leaves_nothing(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote()])
    before = path.read_bytes()

    def failing() -> Iterator[Leaving]:
        yield a_quote(10_002)
        raise RuntimeError("the database went away")

    with (
        pytest.raises(RuntimeError, match="went away"),
        Archive(tmp_path).batch(SHOP, NOW) as batch,
    ):
        batch.keep(failing())
    assert path.read_bytes() == before
    assert [*tmp_path.iterdir()] == [path]


def test_a_file_cut_short_is_damaged(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote()], [an_event()])
    data = path.read_bytes()
    for size in [1, 100, *range(4_096, len(data), 4_096), len(data) - 1]:
        path.write_bytes(data[:size])
        assert contents(tmp_path)[0].damaged, size


def test_a_flipped_byte_is_found_unless_it_changes_nothing(tmp_path: Path) -> None:
    quotes = [a_quote(10_001 + n) for n in range(3)]
    path = kept(tmp_path, quotes, [an_event()])
    data = path.read_bytes()
    found = 0
    for at in range(0, len(data), 101):
        path.write_bytes(data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :])
        damaged = contents(tmp_path)[0].damaged
        found += damaged > 0
        if not damaged:
            assert read(tmp_path) == [*quotes, an_event()], at
        for quote in quotes:
            told = search(tmp_path, serial=quote.head.serial)
            assert told.found in ({}, {SHOP: quote}), at
        for beside in tmp_path.iterdir():
            beside.unlink()
    assert found > 10


def test_a_damaged_row_spoils_no_other(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote(10_001), a_quote(10_002)])
    with closing(sqlite3.connect(path)) as file:
        file.execute("UPDATE quotes SET total_minor = 1 WHERE serial = 10001")
        file.commit()
    assert contents(tmp_path)[0].damaged == 1
    assert search(tmp_path, serial=10_001) == Search({}, damaged=1)
    assert search(tmp_path, serial=10_002) == Search({SHOP: a_quote(10_002)}, damaged=0)
    with closing(sqlite3.connect(path)) as file:
        file.execute("DELETE FROM papers")
        file.commit()
    with pytest.raises(Damaged):
        read(tmp_path)
    assert search(tmp_path, serial=10_002) == Search({}, damaged=1)


def test_a_full_disk_is_said_and_what_stood_there_still_does(tmp_path: Path) -> None:
    """The system refuses to let the file grow, after each page of what is to be written."""
    noise = Random(1)
    path = kept(tmp_path, [a_quote(10_001)])
    before = path.read_bytes()
    quote = a_quote(10_002, reference=noise.randbytes(20_000).hex())
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    for room in range(0, 50_000, 4_096):
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, hard))
        try:
            with (
                pytest.raises(ArchiveUnavailable, match=r"cannot be written: (database or )?disk"),
                Archive(tmp_path).batch(SHOP, NOW) as batch,
            ):
                batch.keep([quote])
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert read(tmp_path) == [a_quote(10_001)]
        assert path.read_bytes() == before
    assert kept(tmp_path, [quote]) == path
    assert read(tmp_path) == [a_quote(10_001), quote]
    assert contents(tmp_path)[0].damaged == 0


_WRITES = """
import os, sys
from pathlib import Path
from tests.persistence.retention.archives import a_quote, kept
for number in (10_001, 10_002):
    os.write(1, b"begins ")
    kept(Path(sys.argv[1]), [a_quote(number)])
    os.write(1, b"ends ")
"""


@pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not here")
def test_a_batch_is_on_disk_before_it_counts(tmp_path: Path) -> None:
    """What the system is asked for, and in which order, as strace tells it."""
    folder, told = tmp_path / "archive", tmp_path / "told"
    folder.mkdir()
    words = ["strace", "-y", "-o", str(told), "-e", "trace=fsync,fdatasync,unlink,write"]
    subprocess.run([*words, sys.executable, "-c", _WRITES, str(folder)], check=True)
    asked = [
        "begins" if '"begins ' in line else "ends" if '"ends ' in line else line.split("(")[0]
        for line in told.read_text().splitlines()
        if str(folder) in line or "write(1" in line
    ]
    places = [line for line in told.read_text().splitlines() if f"<{folder}>" in line]
    commit = [call for call in asked if call in ("begins", "unlink", "ends")]
    assert commit == ["begins", "unlink", "ends"] * 2
    for end in (at for at, call in enumerate(asked) if call == "unlink"):
        assert asked[end - 1].endswith("sync")  # the file, before its journal goes
        assert asked[end + 1].endswith("sync")  # the folder, before the batch counts
    assert len(places) >= 5  # the new file's name, and each journal's coming and going


def test_batches_at_once_wait_for_each_other(tmp_path: Path) -> None:
    barrier = Barrier(4)

    def one(number: int) -> None:
        for batch in range(5):
            barrier.wait()
            kept(tmp_path, [a_quote(10_001 + number * 5 + batch)])

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(one, range(4)))
    (held,) = contents(tmp_path)
    assert (held.quotes, held.damaged) == (20, 0)
    found = [quote for quote in read(tmp_path) if isinstance(quote, WholeQuote)]
    assert [quote.head.serial for quote in found] == [*range(10_001, 10_021)]


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
        Archive(tmp_path).batch(SHOP, NOW),
    ):
        pass


def test_other_files_in_the_folder_are_left_alone(tmp_path: Path) -> None:
    path = kept(tmp_path, [a_quote()])
    for name in ("notes.txt", "x.sqlite3", f"{path.name}.copy"):
        (tmp_path / name).write_bytes(b"x")
    assert len(contents(tmp_path)) == 1
    assert contents(tmp_path)[0].damaged == 0
