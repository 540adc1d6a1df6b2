"""Plans that are made in the background: stored as waiting, worked on, and picked up when orphaned.

The plan's own row says whose it is. Whoever works on a plan claims it by a conditional change, and
notes a heartbeat with its progress; a plan whose heart has stopped (its process ended) may be
claimed anew by anybody. Cancelling changes the row too, so that the next heartbeat finds out. So
any engine may bring the work: it may bring it twice or late, and a plan is still made once.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from threading import Event

from schemas.cutting.records import (
    FAILED,
    PLANNED,
    WAITING,
    WORKING,
    CutPlan,
    Effects,
    PlanHead,
    StoredPlan,
)
from service.app.cutting.planning import PlanBasis, PlanDocuments, effects_of, make_plan, read_basis
from service.app.keys.actor import Planner, noted
from service.app.prices.book import BookShelf
from service.app.shop import make_room
from service.domain.cutting.watch import PlanCancelled, Watch
from service.domain.errors import DomainError, NotFound, Stale
from service.persistence.sql.session import Clock, IdSource, StorageUnavailable
from service.persistence.unit_of_work import UnitOfWork, UnitsOfWork

HEART_STOPPED = timedelta(minutes=1)
"""A plan that has not been heard of for so long is nobody's any more."""
A_BEAT = timedelta(seconds=1)
"""Progress is noted no more often than that."""
MOST_BEGUN = 5
"""A plan that was begun so often and never finished takes its process down: it is given up."""
"""More pieces than that make an answer that is fetched rather than waited for."""
_LOG = logging.getLogger(__name__)


def store(
    uow: UnitOfWork,
    basis: PlanBasis,
    body: bytes,
    made: tuple[CutPlan, tuple[bytes, bytes]] | None,
    by: Planner,
) -> StoredPlan:
    """Store a plan that is made, or one that is to be made; the caller commits.

    Raises:
        Conflict: as many as may wait for their making do so already.
    """
    if made is None:
        make_room(uow, by.shop_id, "waiting_plans")
    head = PlanHead(
        id=by.new_id(),
        shop_id=by.shop_id,
        serial=uow.cutting_plans.next_serial(by.shop_id),
        reference=basis.request.reference,
        status=WAITING if made is None else PLANNED,
        version=1,
        pieces=basis.pieces,
        done=0,
        total=0,
        failure="",
        created_by=by.key_id,
        created_at=by.now,
        updated_at=by.now,
        beat_at=by.now,
    )
    document, costs = (b"{}", b"{}") if made is None else made[1]
    effects = Effects() if made is None else effects_of(made[0])
    stored = StoredPlan(head, body, document, costs, effects)
    uow.cutting_plans.add(stored)
    noted(uow, by, "plan.created", "cutting_plan", head.id, number=head.number, status=head.status)
    return stored


def is_orphan(head: PlanHead, now: datetime) -> bool:
    """Return True if a plan waits for work that nobody does."""
    return head.status in (WAITING, WORKING) and now - head.beat_at > HEART_STOPPED


@dataclass(frozen=True, slots=True)
class PlanWork:
    """Makes a stored plan. `stopping` says that this process ends and is to let go of it."""

    units: UnitsOfWork
    shelf: BookShelf
    documents: PlanDocuments
    clock: Clock
    new_id: IdSource
    stopping: Callable[[], bool] = lambda: False

    def until(self, stopping: Callable[[], bool]) -> PlanWork:
        """Return the same work, which lets go of a plan once `stopping` returns True."""
        return replace(self, stopping=stopping)

    def orphans(self) -> tuple[tuple[str, str], ...]:
        """Return the plans that wait and that nobody works on: shop id and plan id."""
        with self.units.reading() as uow:
            return uow.cutting_plans.unheard(self.clock() - HEART_STOPPED)

    def __call__(self, shop_id: str, plan_id: str) -> None:
        """Work on a plan if nobody does; a plan that is done, cancelled or gone is left alone.

        Where the database fails in the middle, the plan is left as it is and is picked up later.
        """
        try:
            claimed = self._claim(shop_id, plan_id)
            if claimed is not None:
                self._work_on(claimed)
        except (NotFound, Stale):
            return
        except StorageUnavailable:
            _LOG.warning("the database cannot be reached; plan %s is picked up later", plan_id)

    def _work_on(self, claimed: StoredPlan) -> None:
        try:
            self._finish(claimed, self._made(claimed))
        except PlanCancelled:
            if self.stopping():
                self._let_go(claimed.head)
        except (Stale, StorageUnavailable):
            raise
        except DomainError as refused:
            self._fail(claimed.head, refused.message)
        except Exception:
            _LOG.exception("plan %s failed", claimed.head.number)
            self._fail(claimed.head, "something went wrong here; it has been noted")

    def _claim(self, shop_id: str, plan_id: str) -> StoredPlan | None:
        now = self.clock()
        with self.units.writing() as uow:
            stored = uow.cutting_plans.by_id(shop_id, plan_id)
            head = stored.head
            free = head.status == WAITING or is_orphan(head, now)
            if not free or self.stopping():
                return None
            if head.version > MOST_BEGUN:  # every begin is a version, and nothing else is till then
                self._give_up(uow, head)
                return None
            mine = replace(
                head,
                status=WORKING,
                version=head.version + 1,
                beat_at=now,
                updated_at=max(now, head.updated_at),
            )
            uow.cutting_plans.change(head, mine, {})
            uow.commit()
        return replace(stored, head=mine)

    def _made(self, stored: StoredPlan) -> CutPlan:
        head = stored.head
        with self.units.reading() as uow:
            book = self.shelf.book_within(uow, head.shop_id)
            request = self.documents.request(stored.request, book.shop)
            basis = read_basis(uow, book, request, self.documents)
        lost, noted_at = Event(), head.beat_at - A_BEAT

        def beat(done: int, total: int) -> None:
            nonlocal noted_at
            if self.clock() - noted_at < A_BEAT:
                return
            noted_at = self.clock()
            with self.units.writing() as uow:
                if not uow.cutting_plans.beat(head, done, total, self.clock()):
                    lost.set()
                uow.commit()

        return make_plan(basis, Watch(beat, lambda: lost.is_set() or self.stopping()))

    def _finish(self, stored: StoredPlan, plan: CutPlan) -> None:
        head = stored.head
        with self.units.writing() as uow:
            shop = uow.shops.by_id(head.shop_id).shop
            document, costs = self.documents.written(plan, shop)
            was = uow.cutting_plans.by_id(head.shop_id, head.id).head
            now = max(self.clock(), was.updated_at)
            done = replace(
                was, status=PLANNED, version=head.version + 1, done=was.total, updated_at=now
            )
            uow.cutting_plans.change(head, done, {"document": document, "costs": costs})
            uow.cutting_plans.effects(head.id, effects_of(plan))
            self._note(uow, done, "plan.made")
            uow.commit()

    def _let_go(self, head: PlanHead) -> None:
        """Leave a plan to whoever comes next, since this process ends: its heart stops at once."""
        with self.units.writing() as uow:
            uow.cutting_plans.beat(head, 0, 0, self.clock() - 2 * HEART_STOPPED)
            uow.commit()

    def _give_up(self, uow: UnitOfWork, head: PlanHead) -> None:
        _LOG.error("plan %s was begun %s times and never finished", head.number, MOST_BEGUN)
        self._failed(uow, head, "it was begun several times and never finished; plan less at once")
        uow.commit()

    def _fail(self, head: PlanHead, why: str) -> None:
        with self.units.writing() as uow:
            self._failed(uow, head, why)
            uow.commit()

    def _failed(self, uow: UnitOfWork, head: PlanHead, why: str) -> None:
        at = max(self.clock(), head.updated_at)
        now = replace(head, status=FAILED, version=head.version + 1, failure=why, updated_at=at)
        uow.cutting_plans.change(head, now, {})
        self._note(uow, now, "plan.failed")

    def _note(self, uow: UnitOfWork, head: PlanHead, kind: str) -> None:
        by = Planner(head.shop_id, head.created_by, self.clock(), self.new_id)
        noted(uow, by, kind, "cutting_plan", head.id, number=head.number, status=head.status)
