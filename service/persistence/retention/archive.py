"""The archive: writing to it, and taking customers out of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from pathlib import Path
from sqlite3 import Connection

from schemas.events.records import StoredEvent
from service.persistence.retention import earlier
from service.persistence.retention.customers import is_address_of, without_customer
from service.persistence.retention.files import (
    begin,
    file_for,
    files,
    make_ready,
    opened,
    plain_refusals,
    taken,
)
from service.persistence.retention.records import ArchiveUnavailable, Leaving
from service.persistence.retention.rows import (
    Row,
    is_whole,
    put,
    put_event,
    put_quote,
    rows,
)
from service.persistence.retention.store import NOBODY

Named = Callable[[Row], bool]
"""Returns True if an archived quote names somebody who is to be forgotten."""


class Batch:
    """A transaction of one archive file."""

    def __init__(self, folder: Path, file: Connection) -> None:
        self._folder = folder
        self._file = file

    def keep(self, records: Iterable[Leaving]) -> int:
        """Write records and return their number.

        Raises:
            ArchiveUnavailable: they cannot be written.
        """
        count = 0
        for record in records:
            with plain_refusals(self._folder, "written"):
                if isinstance(record, StoredEvent):
                    put_event(self._file, record)
                else:
                    put_quote(self._file, record)
            count += 1
        return count


class Archive:
    """A folder of SQLite files, one for each shop and year."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def ready(self) -> None:
        """Make sure that the folder can be written to, creating it if needed.

        Files of earlier releases are taken over, and removed once all of them is.

        Raises:
            ArchiveUnavailable: it cannot be written to, or files of an earlier release are damaged.
        """
        make_ready(self.folder)
        with plain_refusals(self.folder, "taken over"):
            damaged = [path.name for path in earlier.files(self.folder) if not self._take(path)]
        if damaged:
            raise _damaged(self.folder, damaged)

    @contextmanager
    def batch(self, shop: str, at: datetime) -> Iterator[Batch]:
        """Begin a batch of the shop of this code: nobody else writes to its file until it ends.

        At the end it is on disk, or the block raises and nothing is.

        Raises:
            ArchiveUnavailable: it cannot be written.
        """
        with ExitStack() as closing:
            with plain_refusals(self.folder, "written"):
                file = closing.enter_context(opened(file_for(self.folder, shop, at.year)))
                begin(file)
            yield Batch(self.folder, file)
            with plain_refusals(self.folder, "written"):
                file.execute("COMMIT")

    def forget_customer(self, shop: str, email: str) -> int:
        """Remove this address's customer from every quote, and return the number of quotes.

        Raises:
            ArchiveUnavailable: not every file can be read or rewritten.
        """
        return self._forget(shop, lambda quote: is_address_of(quote["customer"], email))

    def forget_customers(self, shop: str, unchanged_since: datetime) -> int:
        """Remove customers from quotes unchanged since then, and return the number of quotes.

        Raises:
            ArchiveUnavailable: not every file can be read or rewritten.
        """
        return self._forget(
            shop, lambda quote: datetime.fromisoformat(quote["updated_at"]) < unchanged_since
        )

    def _take(self, path: Path) -> bool:
        """Take a file of an earlier release over; return True if all of it was whole."""
        shop, at = earlier.shop_and_instant(path)
        whole = True
        for records in earlier.batches(path):
            whole = whole and records is not None
            with self.batch(shop, at) as batch:
                batch.keep(records or ())
        if whole:
            earlier.remove(path)
        return whole

    def _forget(self, shop: str, named: Named) -> int:
        if not self.folder.exists():
            return 0
        quotes: set[str] = set()

        def forget(file: Connection) -> bool:
            return _forget_in(file, named, quotes)

        with plain_refusals(self.folder, "written anew"):
            damaged = [path.name for path in files(self.folder, shop) if not taken(path, forget)]
        if damaged:
            raise _damaged(self.folder, damaged)
        return len(quotes)


def _forget_in(file: Connection, named: Named, quotes: set[str]) -> bool:
    """Remove customers from one file, and add the quotes; return True if all of it was whole.

    A file that is not sound may hide names, so this looks at all of it. `user_version` is 1 until
    the file was written anew, without what stays of rows that moved or went.
    """
    begin(file)
    (sound,) = file.execute("PRAGMA quick_check(1)").fetchone()
    heads = [*rows(file, "SELECT * FROM quotes WHERE customer <> ?", NOBODY)]
    theirs = [head for head in heads if is_whole(head) and named(head)]
    whole = all([is_whole(head) for head in heads] + [_nameless(file, head) for head in theirs])
    if theirs:
        file.execute("PRAGMA user_version = 1")
    file.execute("COMMIT")
    if file.execute("PRAGMA user_version").fetchone()[0]:
        file.execute("VACUUM")
        file.execute("PRAGMA user_version = 0")
    quotes.update(head["id"] for head in theirs)
    return whole and sound == "ok"


def _nameless(file: Connection, head: Row) -> bool:
    """Remove the customer from a quote, as the next version, as in the database.

    Return True if all of it was whole.
    """
    put(file, "quotes", {**head, "customer": NOBODY, "version": head["version"] + 1})
    found = [*rows(file, "SELECT * FROM revisions WHERE quote_id = ?", head["id"])]
    whole = [revision for revision in found if is_whole(revision)]
    for revision in whole:
        put(file, "revisions", {**revision, "request": without_customer(revision["request"])})
    return len(whole) == int(head["revisions"])


def _damaged(folder: Path, names: list[str]) -> ArchiveUnavailable:
    return ArchiveUnavailable(
        f"in the archive in {folder} these files are damaged, and who is named in the damaged "
        f"parts is not known: {', '.join(names)}; bring them back from a copy and do this "
        "again, or remove them"
    )
