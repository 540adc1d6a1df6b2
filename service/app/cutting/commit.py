"""Committing a cutting plan to the shop's stock, and undoing that: all of it or nothing.

Whoever commits takes the shop's turn first, and every single thing is taken under a condition that
it is still there, so that two planners never take the same offcut, sheet or ticket piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from schemas.cutting.records import COMMITTED, PLAN_LIFE, Effects, PlanHead, StoredPlan
from schemas.cutting.yields import items_cut
from schemas.materials.records import OFFCUT_LIFE, ON_RACK, TAKEN_BACK, Offcut, Take
from service.app.keys.actor import Planner, noted
from service.app.shop import make_room
from service.domain.errors import Conflict
from service.domain.measure.length import TICKS_PER_INCH, Length
from service.domain.measure.rounding import decimal_text
from service.domain.tickets import progress
from service.persistence.unit_of_work import UnitOfWork

LOOK_AGAIN = "somebody was faster; plan again from what is there now"


def moved(uow: UnitOfWork, was: PlanHead, action: str, by: Planner) -> PlanHead:
    """A plan one step along its table.

    Raises:
        WrongState: the table has no such step.
        Stale: somebody changed the plan meanwhile.
    """
    status = PLAN_LIFE.after(was.status, action, was.number)
    at = max(by.now, was.updated_at)
    now = replace(was, status=status, version=was.version + 1, updated_at=at)
    uow.cutting_plans.change(was, now, {})
    return now


def commit(uow: UnitOfWork, stored: StoredPlan, by: Planner) -> StoredPlan:
    """Take what a plan takes and book what it leaves; the caller commits the unit of work.

    Raises:
        WrongState: the plan is committed, undone or not made yet.
        Conflict: an offcut, a sheet or a piece of a ticket is not there any more, or the plan cuts
            what the catalogue does not have.
    """
    head, effects = stored.head, stored.effects
    now = moved(uow, head, "commit", by)
    if effects.unknown:
        named = ", ".join(effects.unknown)
        raise Conflict(f"the catalogue has no {named}: such a plan is to be read, not booked")
    _take_lots(uow, head, effects)
    gone = [each for each in effects.offcuts if not uow.rack.use(by.shop_id, each, head.id, by.now)]
    if gone:
        labels = ", ".join(uow.rack.by_id(by.shop_id, each).label for each in gone)
        raise Conflict(f"{labels} is not on the rack any more; {LOOK_AGAIN}")
    for take in effects.takes:
        if not uow.stock_levels.take(by.shop_id, take, by.now):
            raise Conflict(f"there are no {take.quantity} of {_take_text(take)} left; {LOOK_AGAIN}")
    booked = _booked(uow, head, effects, by)
    uow.facts.cut(head.shop_id, head.id, now.updated_at, items_cut(stored.document))
    noted(
        uow,
        by,
        "plan.committed",
        "cutting_plan",
        head.id,
        number=head.number,
        used=list(effects.offcuts),
        booked=[offcut.label for offcut in booked],
    )
    return replace(stored, head=now, booked=booked)


def _take_text(take: Take) -> str:
    sides = [take.width, take.height] if take.height else [take.width]
    return f"{take.item} {' x '.join(_inches(side) for side in sides)} in"


def _inches(length: Length) -> str:
    return decimal_text(length.ticks, TICKS_PER_INCH, 4)


def _take_lots(uow: UnitOfWork, head: PlanHead, effects: Effects) -> None:
    """Note the pieces of tickets as planned, unless they are cut or planned by somebody else.

    Raises:
        Conflict: they are.
    """
    planned = uow.cutting_plans.cut_lots({lot.ticket_id for lot in effects.lots})
    tickets = {
        each: uow.tickets.by_id(head.shop_id, each)
        for each in sorted({lot.ticket_id for lot in effects.lots})
    }
    for lot in effects.lots:
        ticket = tickets[lot.ticket_id]
        left = {
            each.number: each.quantity
            for each in ticket.lots
            if each.status == progress.WAITING
            and ticket.head.status in (progress.WAITING, progress.AT_WORK)
        }
        free = left.get(lot.lot, 0) - planned.get((lot.ticket_id, lot.lot), 0)
        if lot.quantity > free:
            where = f"piece {lot.lot} of ticket {ticket.head.number}"
            raise Conflict(f"{where} is cut or planned by now, or taken back; {LOOK_AGAIN}")
    uow.cutting_plans.add_lots(head.id, effects.lots)


def _booked(uow: UnitOfWork, head: PlanHead, effects: Effects, by: Planner) -> tuple[Offcut, ...]:
    serials = uow.rack.serials(by.shop_id, len(effects.keeps))
    booked = tuple(
        Offcut(
            id=by.new_id(),
            shop_id=by.shop_id,
            serial=serial,
            item=keep.item,
            width=keep.width,
            height=keep.height,
            status=ON_RACK,
            place="",
            reason="",
            cut_by=head.id,
            used_by=None,
            version=1,
            created_at=by.now,
            updated_at=by.now,
        )
        for keep, serial in zip(effects.keeps, serials, strict=True)
    )
    make_room(uow, head.shop_id, "offcuts", len(booked))
    uow.rack.add(booked)
    return booked


def undo(uow: UnitOfWork, stored: StoredPlan, by: Planner) -> StoredPlan:
    """Give back what a committed plan took, and take back what it booked; the caller commits.

    Raises:
        WrongState: the plan is not committed.
        Conflict: a piece of it is cut, or an offcut that it booked is used or thrown away already.
    """
    head = stored.head
    now = moved(uow, head, "undo", by)
    _nothing_cut(uow, stored)
    booked = uow.rack.booked_by(head.id)
    _still_there(booked)
    for offcut in booked:
        at = max(by.now, offcut.updated_at)
        changed = replace(offcut, status=TAKEN_BACK, version=offcut.version + 1, updated_at=at)
        uow.rack.change(offcut, changed)
    uow.rack.put_back(head.id, by.now)
    for take in stored.effects.takes:
        uow.stock_levels.put_back(by.shop_id, take, by.now)
    uow.cutting_plans.drop_lots(head.id)
    uow.facts.cut_undone(head.id, now.updated_at)
    noted(uow, by, "plan.undone", "cutting_plan", head.id, number=head.number)
    return replace(stored, head=now, booked=uow.rack.booked_by(head.id))


def _nothing_cut(uow: UnitOfWork, stored: StoredPlan) -> None:
    """Refuse to give material back that the bench has cut.

    Raises:
        Conflict: the bench has begun or done a piece of the plan.
    """
    planned: dict[str, set[int]] = {}
    for each in stored.effects.lots:
        planned.setdefault(each.ticket_id, set()).add(each.lot)
    begun = []
    for ticket_id in sorted(planned):
        ticket = uow.tickets.by_id(stored.head.shop_id, ticket_id)
        begun += [
            f"piece {lot.number} of ticket {ticket.head.number} is {lot.status.replace('_', ' ')}"
            for lot in ticket.lots
            if lot.number in planned[ticket_id] and lot.status != progress.WAITING
        ]
    if begun:
        told = ", ".join(begun)
        raise Conflict(
            f"what is cut cannot be given back: {told}", facts={"state": stored.head.status}
        )


def _still_there(booked: Sequence[Offcut]) -> None:
    gone = [offcut for offcut in booked if offcut.status != ON_RACK]
    if gone:
        told = ", ".join(f"{offcut.label} is {offcut.status}" for offcut in gone)
        raise Conflict(
            f"what the plan put on the rack is not all there any more: {told}",
            facts={"state": COMMITTED},
        )


def cancel(uow: UnitOfWork, stored: StoredPlan, by: Planner) -> StoredPlan:
    """Stop a plan that is being made, or give up one that is not committed; the caller commits.

    Raises:
        WrongState: it is committed, or over.
    """
    now = moved(uow, stored.head, "cancel", by)
    noted(uow, by, "plan.cancelled", "cutting_plan", now.id, number=now.number)
    return replace(stored, head=now)


def discard(uow: UnitOfWork, offcut: Offcut, reason: str, by: Planner) -> Offcut:
    """Throw an offcut away; the caller commits.

    Raises:
        WrongState: it is not on the rack.
        Stale: somebody changed it meanwhile.
    """
    status = OFFCUT_LIFE.after(offcut.status, "discard", offcut.label)
    at = max(by.now, offcut.updated_at)
    now = replace(offcut, status=status, reason=reason, version=offcut.version + 1, updated_at=at)
    uow.rack.change(offcut, now)
    noted(uow, by, "offcut.discarded", "offcut", now.id, label=now.label, reason=reason)
    return now


def move(uow: UnitOfWork, offcut: Offcut, place: str, by: Planner) -> Offcut:
    """Note where an offcut lies now; the caller commits.

    Raises:
        WrongState: it is not on the rack.
        Stale: somebody changed it meanwhile.
    """
    status = OFFCUT_LIFE.after(offcut.status, "move", offcut.label)
    at = max(by.now, offcut.updated_at)
    now = replace(offcut, status=status, place=place, version=offcut.version + 1, updated_at=at)
    uow.rack.change(offcut, now)
    noted(uow, by, "offcut.moved", "offcut", now.id, label=now.label, place=place)
    return now
