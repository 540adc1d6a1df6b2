"""Stored cutting plans: heads for lists, documents written once, and the effects of a commit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    Row,
    Table,
    Text,
    UniqueConstraint,
    bindparam,
    delete,
    func,
    insert,
    select,
    update,
)

from schemas.cutting.records import (
    COMMITTED,
    PLANS,
    WAITING,
    WORKING,
    CutLot,
    Effects,
    Keep,
    PlanHead,
    PlanPage,
    StoredPlan,
)
from schemas.materials.records import Take
from schemas.wire.page import Cursor
from service.domain.errors import Stale
from service.persistence.materials.offcuts import SqlRack
from service.persistence.shop import next_serials
from service.persistence.sql.codec import TEXT, TICKS, WHOLE, many, read_json, record, write_json
from service.persistence.sql.metadata import ID, metadata
from service.persistence.sql.pages import newest_first
from service.persistence.sql.session import Session, found
from service.persistence.sql.types import Document, Instant

PLAN_SERIES = "plan"
EFFECTS = record(
    Effects,
    offcuts=many(TEXT),
    takes=many(record(Take, item=TEXT, width=TICKS, height=TICKS, quantity=WHOLE)),
    keeps=many(
        record(
            Keep,
            position=WHOLE,
            use=WHOLE,
            leftover=WHOLE,
            item=TEXT,
            width=TICKS,
            height=TICKS,
        )
    ),
    lots=many(record(CutLot, ticket_id=TEXT, lot=WHOLE, quantity=WHOLE)),
    unknown=many(TEXT),
)
_DOCUMENTS = ("request", "document", "costs", "effects")


cutting_plans = Table(
    "cutting_plans",
    metadata,
    Column("id", ID, primary_key=True),
    Column("shop_id", ID, ForeignKey("shops.id"), nullable=False),
    Column("serial", BigInteger, nullable=False),
    Column("reference", Text, nullable=False),
    Column("status", Text, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("pieces", BigInteger, nullable=False),
    Column("done", BigInteger, nullable=False),
    Column("total", BigInteger, nullable=False),
    Column("failure", Text, nullable=False),
    Column("request", Document, nullable=False),
    Column("document", Document, nullable=False),
    Column("costs", Document, nullable=False),
    Column("effects", Document, nullable=False),
    Column("created_by", Text, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("updated_at", Instant, nullable=False),
    Column("beat_at", Instant, nullable=False),
    UniqueConstraint("shop_id", "serial"),
    Index(None, "shop_id", "created_at", "id"),
    Index(None, "shop_id", "status", "created_at", "id"),
    Index(None, "status", "beat_at"),
)


_HEAD = tuple(column for column in cutting_plans.c if column.name not in _DOCUMENTS)
_HEADS = select(*_HEAD).where(cutting_plans.c.shop_id == bindparam("shop_id"))
_WHOLE = select(cutting_plans).where(cutting_plans.c.shop_id == bindparam("shop_id"))
_BY_ID = _WHOLE.where(cutting_plans.c.id == bindparam("plan_id"))
_BY_SERIAL = _WHOLE.where(cutting_plans.c.serial == bindparam("serial"))
_CHANGE = update(cutting_plans).where(
    cutting_plans.c.shop_id == bindparam("in_shop"),
    cutting_plans.c.id == bindparam("which"),
    cutting_plans.c.version == bindparam("seen"),
)


class SqlCuttingPlans:
    """The SQL implementation of the `CuttingPlans` port."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def next_serial(self, shop_id: str) -> int:
        """Return the shop's next plan number."""
        return next_serials(self._session, shop_id, PLAN_SERIES, 1).start

    def add(self, plan: StoredPlan) -> None:
        """Store a plan under the serial in its head."""
        row = {
            **asdict(plan.head),
            "request": plan.request,
            "document": plan.document,
            "costs": plan.costs,
            "effects": write_json(EFFECTS, plan.effects).encode(),
        }
        self._session.connection.execute(insert(cutting_plans), row)

    def by_id(self, shop_id: str, plan_id: str) -> StoredPlan:
        """Return the plan with this id.

        Raises:
            NotFound: the shop has none.
        """
        values = {"shop_id": shop_id, "plan_id": plan_id}
        row = self._session.connection.execute(_BY_ID, values).one_or_none()
        return self._stored(found(row, "such cutting plan"))

    def by_serial(self, shop_id: str, serial: int) -> StoredPlan:
        """Return the plan with this serial.

        Raises:
            NotFound: the shop has none.
        """
        values = {"shop_id": shop_id, "serial": serial}
        row = self._session.connection.execute(_BY_SERIAL, values).one_or_none()
        return self._stored(found(row, "cutting plan of that number"))

    def change(self, was: PlanHead, now: PlanHead, written: Mapping[str, bytes]) -> None:
        """Update a plan, storing only the documents that have been written.

        Raises:
            Stale: another transaction changed it meanwhile.
        """
        where = {"in_shop": was.shop_id, "which": was.id, "seen": was.version}
        changed = self._session.connection.execute(
            _CHANGE.values(**{**asdict(now), **written}), where
        )
        if changed.rowcount != 1:
            state = self.by_id(was.shop_id, was.id).head.status
            raise Stale(
                f"plan {was.number} was changed by somebody else just now and is {state} by now; "
                "look again",
                facts={"state": state},
            )

    def beat(self, head: PlanHead, done: int, total: int, at: datetime) -> bool:
        """Store how far the work has got; return False if the plan is no longer to be worked on.

        The version does not change: progress is not a change that a caller must have seen.
        """
        mine = update(cutting_plans).where(
            cutting_plans.c.id == head.id,
            cutting_plans.c.status == WORKING,
            cutting_plans.c.version == head.version,
        )
        values = {"done": done, "total": total, "beat_at": at}
        return self._session.connection.execute(mine.values(**values)).rowcount == 1

    def unheard(self, since: datetime) -> tuple[tuple[str, str], ...]:
        """Return the shop id and plan id of unfinished plans with no sign of life since then."""
        plans = cutting_plans.c
        statement = (
            select(plans.shop_id, plans.id)
            .where(plans.status.in_((WAITING, WORKING)), plans.beat_at < since)
            .order_by(plans.beat_at, plans.id)
        )
        rows = self._session.connection.execute(statement)
        return tuple((row.shop_id, row.id) for row in rows)

    def effects(self, plan_id: str, effects: Effects) -> None:
        """Store what committing the plan will do."""
        mine = update(cutting_plans).where(cutting_plans.c.id == plan_id)
        written = write_json(EFFECTS, effects).encode()
        self._session.connection.execute(mine.values(effects=written))

    def page(
        self, shop_id: str, status: str | None, limit: int, after: Cursor | None = None
    ) -> PlanPage:
        """Return a page of plans, newest first; plans added meanwhile never shift a later page."""
        statement = _HEADS
        if status is not None:
            statement = statement.where(cutting_plans.c.status == status)
        rows, following = newest_first(
            self._session.connection, statement, cutting_plans, limit, after, {"shop_id": shop_id}
        )
        return PlanPage(tuple(_head(row) for row in rows), following)

    def numbers(self, shop_id: str, plan_ids: Iterable[str]) -> Mapping[str, str]:
        """Return the numbers of these plans by id."""
        wanted = list(plan_ids)
        if not wanted:
            return {}
        c = cutting_plans.c
        mine = select(c.id, c.serial).where(c.shop_id == shop_id, c.id.in_(wanted))
        return {row.id: PLANS.number(row.serial) for row in self._session.connection.execute(mine)}

    def cut_lots(self, ticket_ids: Iterable[str]) -> Mapping[tuple[str, int], int]:
        """Return how many pieces of each lot of these tickets are in committed plans."""
        lots = cutting_plan_lots.c
        statement = (
            select(lots.ticket_id, lots.piece, func.sum(lots.quantity))
            .join(cutting_plans, cutting_plans.c.id == lots.plan_id)
            .where(lots.ticket_id.in_(list(ticket_ids)), cutting_plans.c.status == COMMITTED)
            .group_by(lots.ticket_id, lots.piece)
        )
        rows = self._session.connection.execute(statement)
        return {(ticket, piece): int(many) for ticket, piece, many in rows}

    def add_lots(self, plan_id: str, lots: Iterable[CutLot]) -> None:
        """Store which lots a plan cuts."""
        rows = [
            {
                "plan_id": plan_id,
                "ticket_id": lot.ticket_id,
                "piece": lot.lot,
                "quantity": lot.quantity,
            }
            for lot in lots
        ]
        if rows:
            self._session.connection.execute(insert(cutting_plan_lots), rows)

    def drop_lots(self, plan_id: str) -> None:
        """Delete the record of which lots a plan cuts."""
        mine = delete(cutting_plan_lots).where(cutting_plan_lots.c.plan_id == plan_id)
        self._session.connection.execute(mine)

    def _stored(self, row: Row[Any]) -> StoredPlan:
        return StoredPlan(
            _head(row),
            row.request,
            row.document,
            row.costs,
            read_json(EFFECTS, row.effects),
            SqlRack(self._session).booked_by(row.id),
        )


def _head(row: Row[Any]) -> PlanHead:
    return PlanHead(**{column.name: getattr(row, column.name) for column in _HEAD})


# The ticket lots that each committed plan cuts, so that no two plans cut the same lot.
cutting_plan_lots = Table(
    "cutting_plan_lots",
    metadata,
    Column("plan_id", ID, ForeignKey("cutting_plans.id"), primary_key=True),
    Column("ticket_id", ID, ForeignKey("cut_tickets.id"), primary_key=True),
    Column("piece", Integer, primary_key=True),
    Column("quantity", BigInteger, nullable=False),
    CheckConstraint("quantity > 0", name="some"),
    Index(None, "ticket_id"),
)
