"""Keeping only what is needed: quotes that came to nothing, old events, and who a customer was.

A sold quote stays, for the books; only who bought it can be forgotten. What is erased is erased for
good, in batches, so that nobody waits long for their turn to write. Backups are for whoever keeps
them to renew.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta

from service.app.events import NOBODY, note
from service.app.ports import UnitOfWork, UnitsOfWork

A_BATCH = 500
KEYS_DAYS = 400
"""So long a key that is out of force can still be read of: over a year, as books are looked at."""


@dataclass(frozen=True, slots=True)
class Terms:
    """For how many days each is kept; 0 for ever."""

    unsold_days: int
    events_days: int
    customers_days: int


@dataclass(frozen=True, slots=True)
class Erased:
    """How many of each were erased."""

    quotes: int = 0
    events: int = 0
    customers: int = 0
    answers: int = 0
    keys: int = 0


Step = Callable[[UnitOfWork], int]


def tidy(units: UnitsOfWork, shop_id: str, terms: Terms, now: datetime) -> Erased:
    """Erase what a shop has kept for longer than its terms say, and note that it was done."""

    def before(days: int) -> datetime:
        return now - timedelta(days=days)

    def nameless(uow: UnitOfWork) -> int:
        ids = uow.retention.customers(shop_id, before(terms.customers_days), A_BATCH)
        return uow.retention.forget_customer(shop_id, ids)

    def unsold(uow: UnitOfWork) -> int:
        return uow.retention.unsold(shop_id, before(terms.unsold_days), now, A_BATCH)

    def events(uow: UnitOfWork) -> int:
        return uow.retention.events(shop_id, before(terms.events_days), A_BATCH)

    done = Erased(
        quotes=_all(units, unsold) if terms.unsold_days else 0,
        events=_all(units, events) if terms.events_days else 0,
        customers=_all(units, nameless) if terms.customers_days else 0,
        answers=_all(units, lambda uow: uow.retention.answers(now, A_BATCH)),
        keys=_all(units, lambda uow: uow.retention.keys(shop_id, before(KEYS_DAYS), A_BATCH)),
    )
    facts = {name: count for name, count in asdict(done).items() if count and name != "answers"}
    if facts:
        _noted(units, shop_id, now, "shop.tidied", facts)
    return done


def forget(units: UnitsOfWork, shop_id: str, email: str, now: datetime) -> int:
    """Take a customer who asks for it out of every quote; how many quotes it were.

    The note of it says how many, and not who.
    """
    with units.writing() as uow:
        ids = uow.retention.of_customer(shop_id, email)
        count = uow.retention.forget_customer(shop_id, ids)
        uow.retention.forget_answers(shop_id, email)
        uow.commit()
    if count:
        _noted(units, shop_id, now, "customer.forgotten", {"quotes": count})
    return count


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
