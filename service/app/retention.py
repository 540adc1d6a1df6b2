"""Keeping only what is needed: quotes that came to nothing, old events, and who a customer was.

A sold quote stays, for the books; only who bought it can be forgotten. What is erased is erased for
good, in batches, so that nobody waits long for their turn to write. Backups are for whoever keeps
them to renew.

Where there is an archive, a batch of quotes or events stands in it, on disk, before the transaction
begins that erases it. So a run that is broken off anywhere leaves what it was at in the archive, in
the database, or in both. The archive is written without a turn at writing to the database: only
what nobody has changed meanwhile is erased. Names are kept there for no longer than here.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import nullcontext
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Generic, TypeVar

from schemas.events.records import StoredEvent
from service.app.audit import NOBODY, note
from service.persistence.retention.archive import Archive, ArchiveRun
from service.persistence.retention.records import ArchiveUnavailable, Leaving, QuoteSeen
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

A_BATCH = 500
KEYS_DAYS = 400
"""So long a key that is out of force can still be read of: over a year, as books are looked at."""


@dataclass(frozen=True, slots=True)
class Terms:
    """For how many days each is kept; 0 for ever."""

    unsold_days: int
    events_days: int
    customers_days: int


@dataclass(slots=True)
class Erased:
    """How many of each were erased; how many of them stand in the archive, nameless since now."""

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
    """How many quotes named the customer, in the database and in the archive."""

    quotes: int = 0
    archived: int = 0


T = TypeVar("T")
Step = Callable[[UnitOfWork], int]


@dataclass(frozen=True, slots=True)
class Departure(Generic[T]):
    """How one kind of record leaves: which are chosen, what is kept of them, how they go."""

    choose: Callable[[UnitOfWork], Sequence[T]]
    whole: Callable[[UnitOfWork, Sequence[T]], Iterable[Leaving]]
    drop: Callable[[UnitOfWork, Sequence[T]], int]


def tidy(
    units: UnitsOfWork, shop_id: str, terms: Terms, now: datetime, archive: Archive | None = None
) -> Erased:
    """Erase what a shop has kept for longer than its terms say, and note that it was done.

    Customers go first, so that no name goes to the archive that has had its time.

    Raises:
        ArchiveUnavailable: the archive does not take what is to be erased, or cannot be read; it
            is noted what was done until then.
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

    unsold: Departure[QuoteSeen] = Departure(
        lambda uow: uow.retention.unsold(shop_id, before(terms.unsold_days), now, A_BATCH),
        lambda uow, seen: uow.retention.whole(shop_id, seen),
        lambda uow, seen: uow.retention.drop_quotes(shop_id, seen),
    )
    events: Departure[StoredEvent] = Departure(
        lambda uow: uow.retention.events(shop_id, before(terms.events_days), A_BATCH),
        lambda _, old: old,
        lambda uow, old: uow.retention.drop_events(shop_id, [each.place.id for each in old]),
    )
    code = _code(units, shop_id)
    if terms.customers_days:
        done.customers = _all(units, nameless)
    if terms.unsold_days or terms.events_days:
        with archive.run(code, now) if archive else nullcontext() as run:
            if terms.unsold_days:
                for gone, kept in _departed(units, unsold, run):
                    done.quotes += gone
                    done.archived_quotes += kept
            if terms.events_days:
                for gone, kept in _departed(units, events, run):
                    done.events += gone
                    done.archived_events += kept
    done.answers = _all(units, lambda uow: uow.retention.answers(now, A_BATCH))
    done.keys = _all(units, lambda uow: uow.retention.keys(shop_id, before(KEYS_DAYS), A_BATCH))
    if archive and terms.customers_days:
        done.archived_customers = archive.forget_customers(code, before(terms.customers_days))


def forget(
    units: UnitsOfWork, shop_id: str, email: str, now: datetime, archive: Archive | None = None
) -> Forgotten:
    """Take a customer who asks for it out of every quote; how many quotes it were.

    The note of it says how many, and not who. The archive comes after the database: what a run of
    `tidy` reads from then on names nobody, and the archive waits for a run that read before.

    Raises:
        ArchiveUnavailable: the database has forgotten the customer, the archive not everywhere.
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
    units: UnitsOfWork, leaving: Departure[T], run: ArchiveRun | None
) -> Iterator[tuple[int, int]]:
    """Erase batch by batch what is chosen; of each batch how many went and how many are kept.

    First on disk in the archive, then out of the database. What was changed in between stays in
    the database, and what stands of it in the archive is an earlier version.
    """
    while True:
        with units.reading() as uow:
            chosen = leaving.choose(uow)
            kept = run.keep(leaving.whole(uow, chosen)) if run and chosen else 0
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
    """A step batch by batch, each in a transaction of its own, until nothing is left to do."""
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
