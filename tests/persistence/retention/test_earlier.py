"""Files of the archive's first format, one of them written by the release that had it."""

from __future__ import annotations

import fcntl
import shutil
from pathlib import Path

import pytest

from service.persistence.retention import earlier
from service.persistence.retention.archive import Archive
from service.persistence.retention.files import files
from service.persistence.retention.reading import contents
from service.persistence.retention.records import ArchiveUnavailable
from tests.persistence.retention.archives import OKAFOR, SHOP, a_quote, an_event, plain, read

(KEPT,) = (Path(__file__).parent / "earlier").iterdir()
ALL = [
    a_quote(10_001, OKAFOR),
    a_quote(10_002),
    a_quote(10_003, OKAFOR, version=3, reason="dear"),
    an_event(1),
    an_event(2),
]
BATCHES = ALL[:2], ALL[2:3], ALL[3:]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return Path(shutil.copy(KEPT, tmp_path))


def test_all_of_it_is_taken_over_to_the_byte(path: Path) -> None:
    path.with_name(f"{path.name}.new").write_bytes(b"left by an interrupted change")
    Archive(path.parent).ready()
    assert [each.name for each in path.parent.iterdir()] == ["corner.2026.sqlite3"]
    assert read(path.parent, SHOP) == ALL
    assert contents(path.parent)[0].damaged == 0
    assert Archive(path.parent).forget_customer(SHOP, "m.okafor@example.com") == 2
    assert b"Okafor" not in plain(path.parent)


def test_a_damaged_batch_keeps_the_file_and_is_told(path: Path) -> None:
    data = path.read_bytes()
    starts = [at for at in range(len(data)) if data.startswith(earlier.HEADER, at)]
    assert len(starts) == len(BATCHES) + 1
    for at in range(0, len(data), 5):
        path.write_bytes(data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :])
        hit = sum(start <= at for start in starts) - 1
        whole = [each for n, batch in enumerate(BATCHES) if n != hit for each in batch]
        found = [*earlier.batches(path)]
        assert found[0] is None, at
        assert [each for batch in found if batch for each in batch] == whole, at
    with pytest.raises(ArchiveUnavailable, match=r"these files are damaged, .*ndjson\.gz"):
        Archive(path.parent).ready()
    assert path.exists()
    path.write_bytes(data)
    Archive(path.parent).ready()
    assert not path.exists()
    assert read(path.parent) == ALL


def test_a_name_forgotten_meanwhile_does_not_come_back(path: Path) -> None:
    """A damaged file is taken over again each time, until it is brought back or removed."""
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    for _ in range(2):
        with pytest.raises(ArchiveUnavailable, match=path.name):
            Archive(path.parent).ready()
        Archive(path.parent).forget_customer(SHOP, "m.okafor@example.com")
    assert b"Okafor" not in files(path.parent)[0].read_bytes()


def test_a_file_cut_short_is_damaged_but_for_a_run_that_was_broken_off(path: Path) -> None:
    data = path.read_bytes()
    end = data.rindex(earlier.HEADER)
    part = path.with_name(path.name + earlier.PART)
    for size in (0, 100, end - 1, end, end + 5, len(data) - 1):
        path.write_bytes(data[:size])
        assert None in [*earlier.batches(path)], size
        part.write_bytes(data[:size])
        found = [*earlier.batches(part)]
        assert None not in found, size
        assert found == [*BATCHES, []][: len(found)]
    path.unlink()
    part.write_bytes(data[: end - 1])
    Archive(path.parent).ready()
    assert read(path.parent) == ALL[:3]


def test_a_run_of_the_earlier_release_that_still_writes_is_left_alone(path: Path) -> None:
    with path.open("rb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        with pytest.raises(ArchiveUnavailable, match="cannot be taken over"):
            Archive(path.parent).ready()
    assert files(path.parent) == []
    Archive(path.parent).ready()
    assert read(path.parent) == ALL
