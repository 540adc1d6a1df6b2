"""The single place that chooses adapters: engine, units of work, clock, identifiers, caches."""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock

from sqlalchemy import Engine
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from schemas.cutting.plans import WrittenPlans
from service.app.cutting.background import PlanWork
from service.app.keys.access import KeyWords, random_words
from service.app.keys.beats import ClaimBeats
from service.app.keys.cache import KeyRing
from service.app.keys.origins import KnownOrigins
from service.app.prices.book import BookShelf
from service.persistence.cutting.queue import QueueJobs
from service.persistence.cutting.threads import Jobs, ThreadJobs
from service.persistence.keys.node_rates import NodeRates
from service.persistence.keys.rates import MemoryRates, Rates, SqlRates
from service.persistence.retention.archive import Archive
from service.persistence.sql.clock import DatabaseClock
from service.persistence.sql.engine import STATEMENT_SECONDS, open_engine
from service.persistence.sql.level import is_ahead, is_migrated
from service.persistence.sql.session import Clock, IdSource
from service.persistence.unit_of_work import UnitsOfWork
from service.printing.on_demand import more_fonts
from service.settings import Settings

_COUNTER_BITS = 12
_RANDOM_BITS = 62


class TimeOrderedIds:
    """The `IdSource` port; thread-safe. A clock that is set back never makes it go back."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._last = 0

    def __call__(self) -> str:
        """Return a new identifier, greater than every earlier one of this source."""
        with self._lock:
            now = (time.time_ns() // 1_000_000) << _COUNTER_BITS
            self._last = place = max(now, self._last + 1)
        return _uuid7(place >> _COUNTER_BITS, place & ((1 << _COUNTER_BITS) - 1))


def _uuid7(milliseconds: int, counter: int) -> str:
    """Return a UUIDv7 (RFC 9562, section 5.7): time, version 7, counter, variant 10, random."""
    random = secrets.randbits(_RANDOM_BITS)
    digits = f"{milliseconds << 80 | 7 << 76 | counter << 64 | 0b10 << 62 | random:032x}"
    return f"{digits[:8]}-{digits[8:12]}-{digits[12:16]}-{digits[16:20]}-{digits[20:]}"


SLACK = 30
"""Seconds beyond the longest permitted request; a longer one is stuck."""
RATES_FILE = "rates"
"""The file in the workers' shared folder in which they count requests together."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """The adapters that the upper layers use; built once per process, closed at its end."""

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
        """Return True if a running service may go on: the database answers, and is migrated.

        That includes a database that a later release has migrated further meanwhile: a migration
        only adds, and removes nothing that the previous release uses.
        """
        try:
            return is_migrated(self.engine) or is_ahead(self.engine)
        except (OperationalError, InterfaceError, PoolTimeout):
            return False

    def close(self) -> None:
        """Start no more work, and close the pooled connections."""
        self.jobs.close()
        self.beats.close()
        self.engine.dispose()


def utc_now() -> datetime:
    """Return the time of this machine, in UTC."""
    return datetime.now(UTC)


def wire(
    settings: Settings,
    clock: Clock | None = None,
    new_id: IdSource | None = None,
    monotonic: Callable[[], float] = time.monotonic,
    key_words: Callable[[], KeyWords] = random_words,
    shared: Path | None = None,
    statement_seconds: int = STATEMENT_SECONDS,
) -> Wiring:
    """Build the service over the database that the settings name, without connecting to it.

    Args:
        settings: the settings.
        clock: returns the time; by default PostgreSQL's clock or, with SQLite, this machine's.
        new_id: creates identifiers.
        monotonic: counts seconds, for caches.
        key_words: creates ids and secrets of keys.
        shared: the folder shared by this server's workers, if there are several.
        statement_seconds: how long a statement to PostgreSQL may take.

    Raises:
        UnknownDatabase: an address of an unsupported kind.
    """
    engine = open_engine(settings.database_url, 2 * settings.threads, statement_seconds)
    followed = None
    if clock is None and engine.dialect.name == "postgresql":
        clock = followed = DatabaseClock(engine, utc_now)
    clock = clock or utc_now
    units = UnitsOfWork(engine, clock=followed)
    more_fonts(Path(settings.fonts))
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
        archive=Archive(Path(settings.archive)) if settings.archive else None,
    )


def _rates(
    settings: Settings,
    engine: Engine,
    clock: Clock,
    monotonic: Callable[[], float],
    shared: Path | None,
) -> Rates:
    """Return rate limits shared by all nodes, by the workers of this one, or by this process."""
    if settings.rate_store == "database":
        return SqlRates(engine, clock)
    return NodeRates(shared / RATES_FILE, monotonic) if shared else MemoryRates(monotonic)


def _jobs(engine: Engine, work: PlanWork, *, here: bool) -> Jobs:
    """Return a queue shared by many processes if there is PostgreSQL; else a thread of this one."""
    if engine.dialect.name == "postgresql":
        return QueueJobs(engine, work, here=here)
    return ThreadJobs(work)
