"""A tidy that is killed at any moment, for real: every quote is in the archive or in the database.

Both it may be, neither never. `python -m tests.persistence.retention.test_archive_kills 100`
kills it a hundred times.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from sqlalchemy import event, select

from schemas.quotes.records import NewQuote, Revision
from service.app import retention
from service.app.retention import Terms, tidy
from service.demo import demo_shop
from service.persistence.quotes import quotes
from service.persistence.retention.archive import Archive
from service.persistence.retention.reading import contents
from service.persistence.retention.records import WholeQuote
from service.persistence.sql.engine import database_url, open_engine
from service.persistence.sql.level import migrate
from service.persistence.unit_of_work import UnitsOfWork
from service.wiring import TimeOrderedIds
from tests.persistence.retention.archives import paper, read

FORKS = get_context("forkserver")
FORKS.set_forkserver_preload([__name__])
MADE = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
QUOTES = 240
KILLS = 6
STATEMENTS = 150
"""So many at most are sent before a kill; a whole tidy sends several times as many."""


def _filled(url: str) -> set[str]:
    engine = open_engine(url)
    new_id, noise = TimeOrderedIds(), Random(7)
    with UnitsOfWork(engine).writing() as uow:
        uow.shops.add("s1", demo_shop())
        for _ in range(QUOTES):
            text = noise.randbytes(2_000).hex().encode()
            papers = (paper("{}"),)
            uow.quotes.add(
                NewQuote(
                    id=new_id(),
                    shop_id="s1",
                    status="declined",
                    reference="",
                    customer=b'{"name":"A. Sample"}',
                    currency="USD",
                    total_minor=1,
                    created_at=MADE,
                    valid_until=MADE.date(),
                    created_by="k1",
                    revision=Revision(b"{}", b'"%b"' % text, papers, b"{}"),
                )
            )
        uow.commit()
    with engine.connect() as connection:
        ids = set(connection.execute(select(quotes.c.id)).scalars())
    engine.dispose()
    return ids


def _killed(url: str, folder: Path, statements: int) -> None:
    """Begin a tidy, and kill it at or right after so many statements, unless it is over by then.

    It sends a statement only when it is given leave, so that a slow machine kills at no other time.
    """
    ours, theirs = FORKS.Pipe()
    one = FORKS.Process(target=_by_steps, args=(url, folder, theirs))
    one.start()
    theirs.close()
    assert ours.recv() == "begins"
    with suppress(BrokenPipeError, EOFError):  # it is over already
        for _ in range(statements):
            ours.send("goes on")
            ours.recv()
    one.kill()
    one.join()


def _by_steps(url: str, folder: Path, leave: Connection) -> None:
    """Tidy in small batches, each statement by leave, which is asked for and confirmed."""

    def step(*_: object) -> None:
        leave.recv()
        leave.send("sent")

    retention.A_BATCH = 2  # many moments to be killed at
    leave.send("begins")
    _tidy(url, folder, step)


def _tidy(url: str, folder: Path, step: Callable[..., None] | None = None) -> None:
    engine = open_engine(url)
    if step is not None:
        event.listen(engine, "before_cursor_execute", step)
    later = MADE + timedelta(days=900)
    tidy(UnitsOfWork(engine), "s1", Terms(400, 400, 0), later, Archive(folder))
    engine.dispose()


def _left(url: str) -> set[str]:
    engine = open_engine(url)
    with engine.connect() as connection:
        left = set(connection.execute(select(quotes.c.id)).scalars())
    engine.dispose()
    return left


def _kills(url: str, folder: Path, kills: int) -> Iterator[tuple[int, int]]:
    """After each kill how many quotes are in the archive and how many in the database."""
    Archive(folder).ready()
    every, random = _filled(url), Random(kills)
    for _ in range(kills):
        _killed(url, folder, random.randint(0, STATEMENTS))
        archived = {each.head.id for each in read(folder) if isinstance(each, WholeQuote)}
        left = _left(url)
        assert archived | left == every
        assert not any(held.damaged for held in contents(folder))
        yield len(archived), len(left)


def test_a_tidy_that_is_killed_loses_nothing(sqlite_url: str, tmp_path: Path) -> None:
    told = list(_kills(sqlite_url, tmp_path / "archive", KILLS))
    assert any(0 < left < QUOTES for _, left in told), "no kill came while it worked"
    _tidy(sqlite_url, tmp_path / "archive")
    assert _left(sqlite_url) == set()
    archived = [each for each in read(tmp_path / "archive") if isinstance(each, WholeQuote)]
    assert len({each.head.id for each in archived}) == QUOTES


def _many(kills: int) -> None:
    with TemporaryDirectory() as place:
        first = Path(place) / "migrated.sqlite3"
        migrate(database_url(f"sqlite:///{first}"))
        for run in range(0, kills, KILLS):
            file = Path(place) / f"{run}.sqlite3"
            shutil.copyfile(first, file)
            print(list(_kills(f"sqlite:///{file}", Path(place) / f"archive{run}", KILLS)))


if __name__ == "__main__":
    _many(int(sys.argv[1]))
