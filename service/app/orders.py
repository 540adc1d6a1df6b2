"""A change of order: the revision of a quote that the bench has tickets of.

A job that stays as it was keeps its ticket, wherever it stands in the new document. The ticket of
any other is withdrawn, and what is cut of it already counts as spoiled, with its cost. New jobs get
new tickets. The sale becomes the new one, on the day of the old: the order was placed then.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from schemas.quotes.records import NewQuote, NewSale, QuoteHead
from schemas.tickets.records import NewSpoilage, StoredTicket, TicketHead
from service.app.keys.actor import Actor
from service.app.prices.coupons import count_use
from service.app.quotes import (
    AcceptedRevision,
    new_ticket,
    note_ticket,
    revise,
    step,
    ticket_audit,
    wished_day,
)
from service.domain.errors import Conflict
from service.domain.measure.rounding import exact_sum
from service.domain.quotes.life import IN_WORK
from service.domain.tickets.handover import COLLECTED
from service.domain.tickets.progress import AT_WORK, FINISHED, TAKEN_BACK, TICKET_LIFE, Lot
from service.persistence.sql.session import IdSource
from service.persistence.tickets import PLACES
from service.persistence.unit_of_work import UnitOfWork

Lost = Callable[[StoredTicket, Lot], NewSpoilage]
"""Returns what is lost with a lot of a ticket."""


@dataclass(frozen=True, slots=True)
class ChangedOrder:
    """A new revision, what is accepted with it, and which of the old jobs each new one is.

    `stays` has for each new job the position of the old job that it equals, or None.
    """

    new: NewQuote
    taken: AcceptedRevision
    stays: tuple[int | None, ...]


def change_order(
    uow: UnitOfWork,
    was: QuoteHead,
    change: ChangedOrder,
    actor: Actor,
    new_id: IdSource,
    lost: Lost,
) -> QuoteHead:
    """Revise a quote that has tickets; the caller commits.

    Raises:
        WrongState, Stale: as for `step`.
        Conflict: work that changes is collected already, the wanted day cannot be kept, or the
            coupon is used up.
    """
    taken, made = change.taken, change.taken.made
    adding = [at for at, old in enumerate(change.stays) if old is None]
    serials = uow.tickets.numbers(was.shop_id, len(adding))
    count_use(uow, actor, was.id, taken.coupon)
    tickets = [t for t in uow.tickets.of_quote(was.shop_id, was.id) if t.status != TAKEN_BACK]
    kept = {at: _of_job(tickets, old) for at, old in enumerate(change.stays) if old is not None}
    gone = [t for t in tickets if t not in kept.values()]
    for head in gone:
        _give_up(uow, head, actor, f"change of order {was.number}", lost)
    promised = was.promised
    if adding:
        minutes = exact_sum(made[at].minutes for at in adding)
        day = wished_day(uow, was.shop_id, minutes, actor, taken.wish)
        days = [each for each in (day, was.promised if kept else None) if each is not None]
        promised = max(days, default=None)
    now = revise(uow, replace(was, promised=promised), change.new, actor)
    for at, head in kept.items():
        uow.tickets.renumber(head, _place(now, at), len(made), promised)
    if adding:
        new = [new_ticket(now, at, made, actor, new_id(), _place(now, at)) for at in adding]
        uow.tickets.add(new, serials)
    for head in uow.tickets.of_quote(was.shop_id, was.id):
        if head.serial in serials:
            note_ticket(uow, actor, "ticket.created", head.id, ticket_audit(head))
    uow.facts.resold(NewSale(was.shop_id, was.id, actor.now, taken.sale))
    if now.status == IN_WORK and not adding and all(t.status == FINISHED for t in kept.values()):
        now = step(uow, now, "complete", actor)
    return now


def _of_job(tickets: Sequence[TicketHead], job: int) -> TicketHead:
    return next(ticket for ticket in tickets if ticket.job == job)


def _place(now: QuoteHead, at: int) -> int:
    """Return the stored place of a job: unique over all changes of an order."""
    return now.revision * PLACES + at


def _give_up(uow: UnitOfWork, head: TicketHead, actor: Actor, reason: str, lost: Lost) -> None:
    """Withdraw a ticket; what is cut of it already is recorded as spoiled."""
    if head.state == COLLECTED:
        raise Conflict(f"ticket {head.number} is collected; what was taken along stays as it is")
    stored = uow.tickets.by_id(head.shop_id, head.id)
    for lot in stored.lots:
        if lot.status in (AT_WORK, FINISHED):
            uow.facts.spoiled(lost(stored, replace(lot, reason=reason)))
    status = TICKET_LIFE.after(head.status, "give_up", head.number)
    at = max(actor.now, head.updated_at)
    now = replace(head, status=status, version=head.version + 1, updated_at=at)
    uow.tickets.change(stored, now, stored.lots)
    note_ticket(uow, actor, "ticket.withdrawn", head.id, ticket_audit(now), ticket_audit(head))
