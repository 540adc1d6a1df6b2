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
from service.persistence.engine import reading, writing
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
from service.persistence.session import Session
from service.persistence.shops import SqlShops, grow_versions
from service.persistence.sizes import SqlSizes
from service.persistence.stock import SqlStock
from service.persistence.tickets import SqlCutTickets
from service.persistence.webhooks import SqlWebhooks

MOST_PAPERS = 100_000
_OUTAGES = (OperationalError, InterfaceError, PoolTimeout)


class SqlUnitOfWork:
    """The port `UnitOfWork` over SQL.

    Raises:
        StorageUnavailable: on entering or inside the block, where the database cannot be reached,
            is overloaded, or took too long.
    """

    def __init__(self, engine: Engine, known_papers: set[str], *, writes: bool) -> None:
        self._engine = engine
        self._known_papers = known_papers
        self._writes = writes
        self._connection: Connection | None = None

    def __enter__(self) -> Self:
        try:
            self._connection = connection = self._engine.connect()
        except _OUTAGES as error:
            raise _unavailable() from error
        try:
            connection.begin()
        except BaseException as error:
            connection.close()
            if isinstance(error, _OUTAGES):
                raise _unavailable() from error
            raise
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
            connection.close()  # which rolls back whatever was not committed
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
        self._remember_papers()

    def _remember_papers(self) -> None:
        """What is committed now need not be stored again; all is forgotten when it grows large."""
        if len(self._known_papers) > MOST_PAPERS:
            self._known_papers.clear()
        self._known_papers.update(self._session.new_papers)
        self._session.new_papers.clear()


class SqlUnits:
    """The port `UnitsOfWork` over SQL."""

    def __init__(self, engine: Engine) -> None:
        self._reading = reading(engine)
        self._writing = writing(engine)
        self._known_papers: set[str] = set()

    def reading(self) -> SqlUnitOfWork:
        """One consistent view of everything; it cannot be committed."""
        return SqlUnitOfWork(self._reading, self._known_papers, writes=False)

    def writing(self) -> SqlUnitOfWork:
        """One transaction that may change things."""
        return SqlUnitOfWork(self._writing, self._known_papers, writes=True)


def _unavailable() -> StorageUnavailable:
    return StorageUnavailable("the database did not answer in time; try again in a moment")
