"""Counts for operators, read from counters and indexes and never from whole tables.

The number of records ever stored is the sum of the shops' serial counters. Waiting tickets are
counted in the index by shop and state, so finished ones cost nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import func, literal, select

from service.domain.quotes.numbers import FIRST_SERIAL
from service.domain.tickets.progress import TICKET_LIFE
from service.persistence.shop import counters, shops
from service.persistence.sql.session import Session
from service.persistence.tickets import cut_tickets

WAITING = tuple(state for state in TICKET_LIFE.states if TICKET_LIFE.possible(state))
"""The states that are not final."""


class SqlStock:
    """The SQL implementation of the `StockCount` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def now(self) -> Stock:
        """Return the current figures."""
        connection = self._session.connection
        given = func.sum(counters.c.last_value - (FIRST_SERIAL - 1))
        stored = select(counters.c.series, given).group_by(counters.c.series)
        waiting = {}
        for state in WAITING:
            in_shop = select(func.count()).where(
                cut_tickets.c.shop_id == shops.c.id, cut_tickets.c.status == literal(state)
            )
            total = select(func.sum(in_shop.correlate(shops).scalar_subquery())).select_from(shops)
            waiting[state] = int(connection.execute(total).scalar_one() or 0)
        rows = connection.execute(stored).all()
        return Stock({str(name): int(value) for name, value in rows}, waiting)


@dataclass(frozen=True, slots=True)
class Stock:
    """Totals that identify no shop and no customer.

    Args:
        stored: how many of each series were ever stored, such as quotes.
        waiting: how many bench tickets are in each state that is not final.
    """

    stored: Mapping[str, int]
    waiting: Mapping[str, int]
