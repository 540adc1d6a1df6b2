"""The unit of work over SQL: one connection, one transaction, rolled back unless committed."""

from __future__ import annotations

from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.app.ports import StorageUnavailable
from service.persistence.catalogue import SqlCatalogue
from service.persistence.cutting_plans import SqlCuttingPlans
from service.persistence.engine import BUSY_SECONDS, reading, writing
from service.persistence.events import SqlEvents
from service.persistence.facts import SqlFacts
from service.persistence.figures import SqlFigures
from service.persistence.idempotency import SqlOnceRequests
from service.persistence.items import SqlItems
from service.persistence.keys import SqlKeys
from service.persistence.labour_standards import SqlLabourStandards
from service.persistence.offcuts import SqlRack, SqlStockLevels
from service.persistence.price_lists import SqlPriceLists
from service.persistence.quotes import SqlQuotes
from service.persistence.retention import SqlRetention
from service.persistence.session import Session
from service.persistence.shops import SqlShops, grow_versions
from service.persistence.sizes import SqlSizes
from service.persistence.stock import SqlStock
from service.persistence.tickets import SqlCutTickets
from service.persistence.turns import NoTurn, Turns
from service.persistence.webhooks import SqlWebhooks

MOST_PAPERS = 10_000
_OUTAGES = (OperationalError, InterfaceError, PoolTimeout, NoTurn, OSError)


class SqlUnitOfWork:
    """The port `UnitOfWork` over SQL.

    Raises:
        StorageUnavailable: on entering or inside the block, where the database cannot be reached,
            is overloaded, or took too long.
    """

    def __init__(
        self,
        engine: Engine,
        known_papers: set[str],
        *,
        writes: bool,
        turns: Turns | None = None,
    ) -> None:
        self._engine = engine
        self._known_papers = known_papers
        self._writes = writes
        self._turns = turns
        self._connection: Connection | None = None

    def __enter__(self) -> Self:
        try:
            self._connection = connection = self._begun()
        except _OUTAGES as error:
            raise _unavailable() from error
        self._session = session = Session(connection, known_papers=self._known_papers)
        self.shops = SqlShops(session)
        self.keys = SqlKeys(session)
        self.catalogue = SqlCatalogue(session)
        self.items = SqlItems(session)
        self.price_lists = SqlPriceLists(session)
        self.labour_standards = SqlLabourStandards(session)
        self.quotes = SqlQuotes(session)
        self.tickets = SqlCutTickets(session)
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
                connection.close()  # which rolls back whatever was not committed
            finally:
                self._let_others()
        if isinstance(error, _OUTAGES):
            raise _unavailable() from error

    def commit(self) -> None:
        """Keep what was done; the block is over with it.

        Raises:
            RuntimeError: this unit only reads, or is over already.
        """
        if not self._writes or self._connection is None:
            raise RuntimeError("only an open unit of work for writing can be committed")
        grow_versions(self._session)
        self._session.changed.clear()
        self._connection.commit()
        self._let_others()
        self._remember_papers()

    def _begun(self) -> Connection:
        """A connection in a transaction of its own; of writers to SQLite, the one whose turn it is.

        The connection is taken before the turn, so that nobody is kept waiting for one.
        """
        connection = self._engine.connect()
        try:
            if self._turns is not None:
                self._turns.take()
            try:
                connection.begin()
            except BaseException:
                self._let_others()
                raise
        except BaseException:
            connection.close()
            raise
        return connection

    def _let_others(self) -> None:
        turns, self._turns = self._turns, None
        if turns is not None:
            turns.give_back()

    def _remember_papers(self) -> None:
        """What is committed now need not be stored again; all is forgotten when it grows large."""
        if len(self._known_papers) > MOST_PAPERS:
            self._known_papers.clear()
        self._known_papers.update(self._session.new_papers)
        self._session.new_papers.clear()


class SqlUnits:
    """The port `UnitsOfWork` over SQL."""

    def __init__(self, engine: Engine, seconds: float = BUSY_SECONDS) -> None:
        """Units over an engine.

        Args:
            engine: the database.
            seconds: how long a writer of SQLite waits for its turn.
        """
        self._reading = reading(engine)
        self._writing = writing(engine)
        self._known_papers: set[str] = set()
        file = engine.url.database if engine.dialect.name == "sqlite" else None
        self._turns = Turns(file, seconds) if file else None

    def reading(self) -> SqlUnitOfWork:
        """One consistent view of everything; it cannot be committed."""
        return SqlUnitOfWork(self._reading, self._known_papers, writes=False)

    def writing(self) -> SqlUnitOfWork:
        """One transaction that may change things."""
        return SqlUnitOfWork(self._writing, self._known_papers, writes=True, turns=self._turns)


def _unavailable() -> StorageUnavailable:
    return StorageUnavailable("the database did not answer in time; try again in a moment")
