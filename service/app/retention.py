"""Erasing what is no longer needed: unsold quotes, old events, and customers' names.

A sold quote stays, for the books; only its customer can be forgotten. Erased data are gone for
good, in batches, so that other writers never wait long. Backups are up to whoever keeps them.

If there is an archive, a batch of quotes or events is on disk in it before the transaction that
erases it begins. So an interrupted run leaves its batch in the archive, in the database, or in
both. The archive is locked from before a batch is read, so that no name is written to it after it
was forgotten. The database is not locked meanwhile: only what is unchanged since is erased. Names
are kept in the archive for no longer than in the database.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Generic, TypeVar

from schemas.events.records import StoredEvent
from service.app.audit import NOBODY, note
from service.persistence.retention.archive import Archive, Batch
from service.persistence.retention.records import ArchiveUnavailable, Leaving, QuoteSeen
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

A_BATCH = 500
KEYS_DAYS = 400
"""For how many days a key out of force is kept: over a year, for accounting."""


@dataclass(frozen=True, slots=True)
class Terms:
    """The number of days for which each is kept; 0 keeps it for good."""

    unsold_days: int
    events_days: int
    customers_days: int


@dataclass(slots=True)
class Erased:
    """The numbers of erased records, and of those that are archived, now without names."""

    quotes: int = 0
    events: int = 0
    customers: int = 0
    answers: int = 0
    keys: int = 0
    archived_quotes: int = 0
    archived_events: int = 0
    archived_customers: int = 0


@dataclass(frozen=True, slots=True)
class Forgotten:
    """The numbers of quotes that named the customer, in the database and in the archive."""

    quotes: int = 0
    archived: int = 0


T = TypeVar("T")
Step = Callable[[UnitOfWork], int]


@dataclass(frozen=True, slots=True)
class Removal(Generic[T]):
    """The removal of one kind of record: how it is selected, archived and erased."""

    choose: Callable[[UnitOfWork], Sequence[T]]
    whole: Callable[[UnitOfWork, Sequence[T]], Iterable[Leaving]]
    drop: Callable[[UnitOfWork, Sequence[T]], int]


def tidy(
    units: UnitsOfWork, shop_id: str, terms: Terms, now: datetime, archive: Archive | None = None
) -> Erased:
    """Erase what a shop has kept for longer than its terms allow, and record it.

    Customers go first, so that no expired name goes to the archive.

    Raises:
        ArchiveUnavailable: the archive cannot be written or read; what was done until then is
            recorded.
    """
    done = Erased()
    try:
        _tidy(units, shop_id, terms, now, archive, done)
    except ArchiveUnavailable:
        _note_tidied(units, shop_id, now, done)
        raise
    _note_tidied(units, shop_id, now, done)
    return done


def _tidy(
    units: UnitsOfWork,
    shop_id: str,
    terms: Terms,
    now: datetime,
    archive: Archive | None,
    done: Erased,
) -> None:
    def before(days: int) -> datetime:
        return now - timedelta(days=days)

    def nameless(uow: UnitOfWork) -> int:
        ids = uow.retention.customers(shop_id, before(terms.customers_days), A_BATCH)
        return uow.retention.forget_customer(shop_id, ids)

    unsold: Removal[QuoteSeen] = Removal(
        lambda uow: uow.retention.unsold(shop_id, before(terms.unsold_days), now, A_BATCH),
        lambda uow, seen: uow.retention.whole(shop_id, seen),
        lambda uow, seen: uow.retention.drop_quotes(shop_id, seen),
    )
    events: Removal[StoredEvent] = Removal(
        lambda uow: uow.retention.events(shop_id, before(terms.events_days), A_BATCH),
        lambda _, old: old,
        lambda uow, old: uow.retention.drop_events(shop_id, [each.place.id for each in old]),
    )
    code = _code(units, shop_id)

    def batch() -> AbstractContextManager[Batch | None]:
        return archive.batch(code, now) if archive else nullcontext()

    if terms.customers_days:
        done.customers = _all(units, nameless)
    if terms.unsold_days:
        for gone, kept in _departed(units, unsold, batch):
            done.quotes += gone
            done.archived_quotes += kept
    if terms.events_days:
        for gone, kept in _departed(units, events, batch):
            done.events += gone
            done.archived_events += kept
    done.answers = _all(units, lambda uow: uow.retention.answers(now, A_BATCH))
    done.keys = _all(units, lambda uow: uow.retention.keys(shop_id, before(KEYS_DAYS), A_BATCH))
    if archive and terms.customers_days:
        done.archived_customers = archive.forget_customers(code, before(terms.customers_days))


def forget(
    units: UnitsOfWork, shop_id: str, email: str, now: datetime, archive: Archive | None = None
) -> Forgotten:
    """Remove a customer from every quote, on request, and return the number of quotes.

    The record gives the number and not the name. The archive comes after the database: whatever a
    run of `tidy` reads from then on names nobody, and the archive waits for a run that read before.

    Raises:
        ArchiveUnavailable: the database has forgotten the customer, but not all of the archive has.
    """
    with units.writing() as uow:
        ids = uow.retention.of_customer(shop_id, email)
        count = uow.retention.forget_customer(shop_id, ids)
        uow.retention.forget_answers(shop_id, email)
        uow.commit()
    if count:
        _noted(units, shop_id, now, "customer.forgotten", {"quotes": count})
    archived = archive.forget_customer(_code(units, shop_id), email) if archive else 0
    if archived:
        _noted(units, shop_id, now, "customer.forgotten", {"archived": archived})
    return Forgotten(count, archived)


def _departed(
    units: UnitsOfWork,
    leaving: Removal[T],
    batch: Callable[[], AbstractContextManager[Batch | None]],
) -> Iterator[tuple[int, int]]:
    """Erase the selected records batch by batch; yield how many were erased and archived.

    Each batch is first written to disk in the archive, then erased from the database. What was
    changed in between stays in the database, and the archived copy is an earlier version.
    """
    while True:
        with batch() as archived, units.reading() as uow:
            chosen = leaving.choose(uow)
            kept = archived.keep(leaving.whole(uow, chosen)) if archived else 0
        gone = 0
        if chosen:
            with units.writing() as uow:
                gone = leaving.drop(uow, chosen)
                uow.commit()
        yield gone, kept
        if len(chosen) < A_BATCH:
            return


def _code(units: UnitsOfWork, shop_id: str) -> str:
    with units.reading() as uow:
        return uow.shops.by_id(shop_id).shop.code


def _note_tidied(units: UnitsOfWork, shop_id: str, now: datetime, done: Erased) -> None:
    facts = {name: count for name, count in asdict(done).items() if count and name != "answers"}
    if facts:
        _noted(units, shop_id, now, "shop.tidied", facts)


def _all(units: UnitsOfWork, step: Step) -> int:
    """Run a step batch by batch, each in its own transaction, until nothing is left."""
    total = 0
    while True:
        with units.writing() as uow:
            count = step(uow)
            uow.commit()
        total += count
        if count < A_BATCH:
            return total


def _noted(
    units: UnitsOfWork, shop_id: str, now: datetime, kind: str, facts: dict[str, int]
) -> None:
    with units.writing() as uow:
        note(
            uow,
            shop_id=shop_id,
            key_id=NOBODY,
            at=now,
            kind=kind,
            subject="shop",
            subject_id=shop_id,
            after=json.dumps(facts).encode(),
        )
        uow.commit()
