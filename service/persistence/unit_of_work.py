"""The unit of work over SQL: one connection, one transaction, rolled back unless committed."""

from __future__ import annotations

from time import monotonic
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from schemas.quotes.records import NewQuote
from service.persistence.coupons import SqlCoupons
from service.persistence.customers import SqlCustomers
from service.persistence.cutting.plans import SqlCuttingPlans
from service.persistence.events.feed import SqlEvents
from service.persistence.events.webhooks import SqlWebhooks
from service.persistence.instants import SqlInstants
from service.persistence.keys.idempotency import SqlOnceRequests
from service.persistence.keys.keyring import SqlKeys
from service.persistence.labour import SqlLabourStandards
from service.persistence.limits import SqlSizes
from service.persistence.materials.catalogue import SqlCatalogue
from service.persistence.materials.items import SqlItems
from service.persistence.materials.offcuts import SqlRack, SqlStockLevels
from service.persistence.payments import SqlPayments
from service.persistence.prices import SqlPriceLists
from service.persistence.quotes import SqlQuotes
from service.persistence.reports.facts import SqlFacts
from service.persistence.reports.gauges import SqlStock
from service.persistence.reports.sums import SqlFigures
from service.persistence.retention.store import SqlRetention
from service.persistence.serials import SerialBlocks
from service.persistence.shop import SqlShops, grow_versions
from service.persistence.sql.clock import DatabaseClock
from service.persistence.sql.engine import BUSY_SECONDS, at_once, following, reading, writing
from service.persistence.sql.outage import Outage
from service.persistence.sql.outcomes import is_undone, waits_for_standby
from service.persistence.sql.session import OutcomeUnknown, Session, StorageUnavailable
from service.persistence.sql.turns import NoTurn, Turns
from service.persistence.tickets import SqlCutTickets

MOST_PAPERS = 10_000
LOST = "the database was lost while this was being stored"
OUTAGES = (OperationalError, InterfaceError, PoolTimeout, NoTurn, OSError)


class UnitOfWork:
    """One transaction over SQL, with a store for each kind of record.

    Raises:
        StorageUnavailable: on entering or inside the block, if the database cannot be reached, is
            overloaded or took too long.
    """

    def __init__(
        self,
        engine: Engine,
        known_papers: set[str],
        *,
        writes: bool,
        turns: Turns | None = None,
        clock: DatabaseClock | None = None,
        outage: Outage | None = None,
        lock_seconds: float | None = None,
        at_once: bool = False,
    ) -> None:
        self._at_once = at_once
        self._engine = engine
        self._known_papers = known_papers
        self._writes = writes
        self._turns = turns
        self._clock = clock
        self._outage = outage
        self._lock_seconds = lock_seconds
        self._entered = 0.0
        self._connection: Connection | None = None

    def __enter__(self) -> Self:
        if self._outage is not None and not self._outage.lets_in():
            raise _unavailable()
        self._entered = monotonic()
        try:
            self._connection = connection = self._begun()
        except OUTAGES as error:
            self._note(error)
            raise _unavailable() from error
        if self._outage is not None:
            self._outage.over()
        self._session = session = Session(connection, known_papers=self._known_papers)
        self.shops = SqlShops(session)
        self.keys = SqlKeys(session)
        self.catalogue = SqlCatalogue(session)
        self.items = SqlItems(session)
        self.price_lists = SqlPriceLists(session)
        self.labour_standards = SqlLabourStandards(session)
        self.instants = SqlInstants(session)
        self.quotes = SqlQuotes(session)
        self.customers = SqlCustomers(session)
        self.coupons = SqlCoupons(session)
        self.tickets = SqlCutTickets(session)
        self.payments = SqlPayments(session)
        self.events = SqlEvents(session)
        self.once = SqlOnceRequests(session)
        self.webhooks = SqlWebhooks(session)
        self.stock = SqlStock(session)
        self.cutting_plans = SqlCuttingPlans(session)
        self.rack = SqlRack(session)
        self.stock_levels = SqlStockLevels(session)
        self.sizes = SqlSizes(session)
        self.retention = SqlRetention(session)
        self.facts = SqlFacts(session)
        self.figures = SqlFigures(session)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        connection, self._connection = self._connection, None
        if connection is not None:
            try:
                connection.close()  # which rolls back what was not committed
            finally:
                self._let_others()
        if isinstance(error, OUTAGES):
            self._note(error)
            if self._at_once and not is_undone(error):
                raise OutcomeUnknown(LOST, monotonic() - self._entered) from error
            raise _unavailable() from error

    def commit(self) -> None:
        """Commit, which ends the unit.

        Raises:
            RuntimeError: this unit only reads, or has ended.
            OutcomeUnknown: the connection was lost during the commit.
        """
        if not self._writes or self._connection is None:
            raise RuntimeError("only an open unit of work for writing can be committed")
        grow_versions(self._session)
        self._session.changed.clear()
        began = monotonic()
        try:
            self._connection.commit()
        except OUTAGES as error:
            if is_undone(error):
                raise
            raise OutcomeUnknown(LOST, monotonic() - began) from error
        self._let_others()
        self._remember_papers()

    def waits_for_standby(self) -> bool:
        """Return True if commits wait for a standby."""
        return waits_for_standby(self._session.connection)

    def _begun(self) -> Connection:
        """Return a connection in a new transaction; writers to SQLite have taken their turn.

        The connection is taken before the turn, so that no turn is held while waiting for one.
        """
        connection = self._engine.connect()
        try:
            if self._turns is not None:
                self._turns.take(self._lock_seconds)
            try:
                connection.begin()
                if self._clock is not None:
                    self._clock.follow(connection)
                if self._lock_seconds is not None and self._outage is not None:
                    wait = f"SET LOCAL lock_timeout = {int(self._lock_seconds * 1000)}"
                    connection.exec_driver_sql(wait)
            except BaseException:
                self._let_others()
                raise
        except BaseException:
            connection.close()
            raise
        return connection

    def _note(self, error: BaseException) -> None:
        if self._outage is not None:
            self._outage.failed(error, self._entered)

    def _let_others(self) -> None:
        turns, self._turns = self._turns, None
        if turns is not None:
            turns.give_back()

    def _remember_papers(self) -> None:
        """Remember committed papers, which need not be stored again.

        All are dropped when it grows large.
        """
        if len(self._known_papers) > MOST_PAPERS:
            self._known_papers.clear()
        self._known_papers.update(self._session.new_papers)
        self._session.new_papers.clear()


class UnitsOfWork:
    """The SQL implementation of the `UnitsOfWork` port."""

    def __init__(
        self, engine: Engine, seconds: float = BUSY_SECONDS, clock: DatabaseClock | None = None
    ) -> None:
        """Set up units of work over an engine.

        Args:
            engine: the database.
            seconds: how long a writer to SQLite waits for its turn.
            clock: reads the database's clock within transactions.
        """
        self._clock = clock
        self._reading = reading(engine)
        self._following = following(engine)
        self._writing = writing(engine)
        self._at_once = at_once(engine)
        self._known_papers: set[str] = set()
        file = engine.url.database if engine.dialect.name == "sqlite" else None
        self._turns = Turns(file, seconds) if file else None
        one_writer = engine.dialect.name == "sqlite"
        self._outage = None if one_writer else Outage()
        self._serials = None if one_writer else SerialBlocks(engine)

    def serial(self, shop_id: str) -> int | None:
        """Return a serial for a new quote; None where its transaction takes the next one.

        Call this outside of a unit of work: it uses a connection of its own.

        Raises:
            NotFound: there is no such shop.
            StorageUnavailable: the database cannot be reached or took too long.
        """
        if self._serials is None or self._outage is None:
            return None
        if not self._outage.lets_in():
            raise _unavailable()
        began = monotonic()
        try:
            return self._serials.take(shop_id)
        except OUTAGES as error:
            self._outage.failed(error, began)
            raise _unavailable() from error

    def reading(self) -> UnitOfWork:
        """Return a unit with one consistent snapshot; it cannot be committed."""
        return UnitOfWork(
            self._reading, self._known_papers, writes=False, clock=self._clock, outage=self._outage
        )

    def following(self) -> UnitOfWork:
        """Return a unit for readers of events: each query sees what is committed.

        It cannot be committed.
        """
        return UnitOfWork(self._following, self._known_papers, writes=False, outage=self._outage)

    def writing(self, lock_seconds: float | None = None) -> UnitOfWork:
        """Return a unit that may change things; see the port."""
        return UnitOfWork(
            self._writing,
            self._known_papers,
            writes=True,
            turns=self._turns,
            clock=self._clock,
            outage=self._outage,
            lock_seconds=lock_seconds,
        )

    def storing(self, new: NewQuote) -> UnitOfWork:
        """Return a unit that stores a new quote and nothing else.

        If one statement does it, the statement is its own transaction: one round trip, not three.
        """
        papers = {paper.digest for paper in new.revision.papers}
        if new.serial is None or not papers <= self._known_papers:
            return self.writing()
        return UnitOfWork(
            self._at_once,
            self._known_papers,
            writes=True,
            clock=self._clock,
            outage=self._outage,
            at_once=True,
        )


def _unavailable() -> StorageUnavailable:
    return StorageUnavailable("the database did not answer in time; try again in a moment")
