"""The one place that chooses adapters: engine, units of work, clock, identifiers, caches."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from schemas.cutting.plans import WrittenPlans
from service.app.cutting.background import PlanWork
from service.app.keys.access import KeyWords, random_words
from service.app.keys.beats import ClaimBeats
from service.app.keys.cache import KeyRing
from service.app.keys.origins import KnownOrigins
from service.app.ports import Clock, IdSource, UnitsOfWork
from service.app.ports_archive import Archive
from service.app.ports_cutting import Jobs
from service.app.prices.book import BookShelf
from service.identifiers import TimeOrderedIds
from service.persistence.cutting.cut_threads import ThreadJobs
from service.persistence.cutting.queue import QueueJobs
from service.persistence.keys.node_rates import NodeRates
from service.persistence.keys.persistence_rates import SqlRates
from service.persistence.keys.rates import MemoryRates, Rates
from service.persistence.retention.archive import FolderArchive
from service.persistence.sql.clock import DatabaseClock
from service.persistence.sql.engine import open_engine
from service.persistence.sql.levels import is_ahead, is_migrated
from service.persistence.unit_of_work import SqlUnits
from service.settings import Settings

SLACK = 30
"""Seconds beyond the longest that a request may take; whoever takes longer is stuck."""
RATES_FILE = "rates"
"""The file in the folder that workers share, in which they count requests together."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """Everything that the layers above work with; made once a process, closed at its end."""

    settings: Settings
    engine: Engine
    units: UnitsOfWork
    clock: Clock
    new_id: IdSource
    shelf: BookShelf
    keys: KeyRing
    rates: Rates
    origins: KnownOrigins
    key_words: Callable[[], KeyWords]
    jobs: Jobs
    beats: ClaimBeats
    archive: Archive | None

    def goes_on(self) -> bool:
        """Whether a service that has begun may go on: the database answers, and is migrated.

        So it may where a later release has brought the database further meanwhile: a migration
        only adds, and takes nothing away that the release before it uses.
        """
        try:
            return is_migrated(self.engine) or is_ahead(self.engine)
        except (OperationalError, InterfaceError, PoolTimeout):
            return False

    def close(self) -> None:
        """Begin no more work, and give the pooled connections back."""
        self.jobs.close()
        self.beats.close()
        self.engine.dispose()


def utc_now() -> datetime:
    """The time of this machine, in UTC."""
    return datetime.now(UTC)


def wire(
    settings: Settings,
    clock: Clock | None = None,
    new_id: IdSource | None = None,
    monotonic: Callable[[], float] = time.monotonic,
    key_words: Callable[[], KeyWords] = random_words,
    shared: Path | None = None,
) -> Wiring:
    """Build the service over the database that the settings name; nothing is connected yet.

    Args:
        settings: what to build.
        clock: tells the time; by default PostgreSQL's own clock, or with SQLite this machine's.
        new_id: makes identifiers.
        monotonic: counts seconds, for caches.
        key_words: makes ids and secrets of keys.
        shared: the folder that the workers of this server share, where there are several.

    Raises:
        UnknownDatabase: an address of a kind that is not supported.
    """
    engine = open_engine(settings.database_url, connections=2 * settings.threads)
    followed = None
    if clock is None and engine.dialect.name == "postgresql":
        clock = followed = DatabaseClock(engine, utc_now)
    clock = clock or utc_now
    units = SqlUnits(engine, clock=followed)
    ttl = settings.key_ttl_seconds
    new_id = new_id or TimeOrderedIds()
    shelf = BookShelf(units, ttl, monotonic)
    return Wiring(
        settings=settings,
        engine=engine,
        units=units,
        clock=clock,
        new_id=new_id,
        shelf=shelf,
        keys=KeyRing(units, clock, ttl, monotonic),
        rates=_rates(settings, engine, clock, monotonic, shared),
        origins=KnownOrigins(units, clock, ttl, monotonic),
        key_words=key_words,
        jobs=_jobs(
            engine,
            PlanWork(units, shelf, WrittenPlans(), clock, new_id),
            here=settings.plans == "here",
        ),
        beats=ClaimBeats(units, clock, settings.request_seconds + SLACK),
        archive=FolderArchive(Path(settings.archive)) if settings.archive else None,
    )


def _rates(
    settings: Settings,
    engine: Engine,
    clock: Clock,
    monotonic: Callable[[], float],
    shared: Path | None,
) -> Rates:
    """Counts requests for all nodes, for the workers of this one, or for this process alone."""
    if settings.rate_store == "database":
        return SqlRates(engine, clock)
    return NodeRates(shared / RATES_FILE, monotonic) if shared else MemoryRates(monotonic)


def _jobs(engine: Engine, work: PlanWork, *, here: bool) -> Jobs:
    """A queue that many processes share where there is PostgreSQL; else a thread of this one."""
    if engine.dialect.name == "postgresql":
        return QueueJobs(engine, work, here=here)
    return ThreadJobs(work)
