"""The `Archive` port over files in a folder."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

from service.persistence.retention.files import (
    finished,
    make_ready,
    new_part,
    plain_refusals,
    sync_folder,
)
from service.persistence.retention.forgetting import forget, named_before, named_so
from service.persistence.retention.lines import lines_of
from service.persistence.retention.members import write_member
from service.persistence.retention.records import Leaving

Write = Callable[[int, memoryview], int]


class ArchiveRun:
    """The `ArchiveRun` port over a new file, locked until the run ends."""

    def __init__(self, folder: Path, shop: str, at: datetime, write: Write = os.write) -> None:
        """Create the run's file; nobody reads it yet."""
        self._folder = folder
        self._shop = shop
        self._at = at
        self._write = write
        self._end = 0
        self._batches = 0
        with plain_refusals(folder, "written"):
            self._path, self._file = new_part(folder, shop, at)

    def keep(self, records: Iterable[Leaving]) -> int:
        """Write records as one batch, flushed to disk on return; return their number.

        Raises:
            ArchiveUnavailable: it cannot be written; what was written before remains.
        """
        counted = _Counted(records)
        with plain_refusals(self._folder, "written"):
            self._add({"batch": self._batches + 1}, lines_of(counted))
            if not self._batches:
                sync_folder(self._folder)
        self._batches += 1
        return counted.count

    def finish(self) -> None:
        """Close the file, so that it can later be seen to be complete.

        Raises:
            ArchiveUnavailable: it cannot be closed; all that was written remains.
        """
        with plain_refusals(self._folder, "closed"):
            if not self._batches:
                self._path.unlink()
                return
            self._add({"batches": self._batches}, ())
            self._path.rename(finished(self._path))
            sync_folder(self._folder)

    def close(self) -> None:
        """Release the file, finished or not."""
        os.close(self._file)

    def write(self, data: bytes) -> int:
        """Write all of `data` or raise; the system may take less at a time."""
        rest = memoryview(data)
        while rest:
            rest = rest[self._write(self._file, rest) :]
        return len(data)

    def _add(self, head: dict[str, object], lines: Iterable[bytes]) -> None:
        head_line = {"shop": self._shop, "at": self._at.isoformat(), **head}
        try:
            write_member(self, head_line, lines)
            os.fsync(self._file)
        except BaseException:
            with suppress(OSError):  # a torn end is skipped anyway
                os.ftruncate(self._file, self._end)
                os.lseek(self._file, self._end, os.SEEK_SET)
            raise
        self._end = os.lseek(self._file, 0, os.SEEK_CUR)


class Archive:
    """The `Archive` port over a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def ready(self) -> None:
        """Make sure that the folder can be written to, creating it if needed.

        Raises:
            ArchiveUnavailable: it cannot be written to, with the reason.
        """
        make_ready(self.folder)

    @contextmanager
    def run(self, shop: str, at: datetime) -> Iterator[ArchiveRun]:
        """Start a run for the shop of this code; its file exists and is locked from now on.

        Raises:
            ArchiveUnavailable: it cannot be written.
        """
        run = ArchiveRun(self.folder, shop, at)
        try:
            yield run
            run.finish()
        finally:
            run.close()

    def forget_customer(self, shop: str, email: str) -> int:
        """Remove this address's customer from every quote, and return the number of quotes.

        Raises:
            ArchiveUnavailable: not every file can be read or rewritten.
        """
        return forget(self.folder, shop, named_so(email))

    def forget_customers(self, shop: str, unchanged_since: datetime) -> int:
        """Remove customers from quotes unchanged since then, and return the number of quotes.

        Raises:
            ArchiveUnavailable: not every file can be read or rewritten.
        """
        return forget(self.folder, shop, named_before(unchanged_since))


class _Counted:
    """Counts the records that pass through it."""

    def __init__(self, records: Iterable[Leaving]) -> None:
        self._records = records
        self.count = 0

    def __iter__(self) -> Iterator[Leaving]:
        for record in self._records:
            self.count += 1
            yield record
