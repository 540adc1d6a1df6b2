"""The actor of a change: the key, the time, and the unit of work."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from schemas.events.records import NewEvent
from service.app.audit import note
from service.app.keys.access import Principal
from service.domain.quotes.life import shop_day
from service.domain.shop import Shop
from service.persistence.instants import OF_ITEMS
from service.persistence.sql.session import IdSource
from service.persistence.unit_of_work import UnitOfWork

VersionCheck = Callable[[int], object]


@dataclass(slots=True)
class Changing:
    """The actor of a change to a shop's book, its time and its unit of work.

    Attributes:
        uow: the unit of work; the caller commits.
        shop_id: the shop that owns the book.
        key_id: the key that makes the change.
        at: the time; after `take_turn`, not before any earlier change.
    """

    uow: UnitOfWork
    shop_id: str
    key_id: str
    at: datetime

    def take_turn(self) -> None:
        """Lock this book against other writers."""
        self.uow.shops.take_turn(self.shop_id)
        self.at = self.uow.instants.turn(self.shop_id, OF_ITEMS, self.at)

    def event(
        self, kind: str, subject: str, subject_id: str, before: bytes | None, after: bytes | None
    ) -> NewEvent:
        """Return the event that records the change."""
        return NewEvent(
            shop_id=self.shop_id,
            key_id=self.key_id,
            at=self.at,
            kind=kind,
            subject=subject,
            subject_id=subject_id,
            before=before,
            after=after,
        )

    def note(
        self, kind: str, subject: str, subject_id: str, before: bytes | None, after: bytes | None
    ) -> None:
        """Record the change in the same unit of work."""
        self.uow.events.add(self.event(kind, subject, subject_id, before, after))


@dataclass(frozen=True, slots=True)
class Planner:
    """The actor of an operation on the shop's records, its time, and the source of new ids."""

    shop_id: str
    key_id: str
    now: datetime
    new_id: IdSource


@dataclass(frozen=True, slots=True)
class Actor:
    """A request for a change: the principal and the time; `shop` holds the current settings."""

    principal: Principal
    shop: Shop
    now: datetime

    @property
    def shop_id(self) -> str:
        """The shop of the key."""
        return self.principal.shop_id

    @property
    def key_id(self) -> str:
        """The key that makes the change."""
        return self.principal.key_id

    @property
    def today(self) -> date:
        """The current day in the shop."""
        return shop_day(self.shop, self.now)


def noted(
    uow: UnitOfWork, by: Planner | Actor, kind: str, subject: str, subject_id: str, **after: Any
) -> None:
    """Record an operation and what it leaves; the caller commits."""
    note(
        uow,
        shop_id=by.shop_id,
        key_id=by.key_id,
        at=by.now,
        kind=kind,
        subject=subject,
        subject_id=subject_id,
        after=json.dumps(after).encode(),
    )
