"""Actions at the bench: a ticket or a piece of it is started, finished or spoiled.

Every action first locks the ticket's quote, so that two people at two tickets of one quote take
turns: the quote is begun once and done once, and the second of two identical actions is told of the
first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from schemas.quotes.records import QuoteHead
from schemas.tickets.records import NewSpoilage, StoredTicket, TicketHead
from service.app.keys.actor import Actor
from service.app.quotes import note_change, note_ticket, step, ticket_audit
from service.domain.quotes.life import ACCEPTED
from service.domain.states import WrongState
from service.domain.tickets import progress
from service.domain.tickets.handover import COLLECTED, HANDOVER, handover_of
from service.domain.tickets.progress import FINISHED, TAKEN_BACK, TICKET_LIFE, Lot
from service.persistence.unit_of_work import UnitOfWork

Lost = Callable[[StoredTicket, Lot], NewSpoilage]
"""Returns what is lost with a spoiled lot of a ticket."""


@dataclass(frozen=True, slots=True)
class Spoiled:
    """A report of spoiled pieces: what happened, and how many; all by default."""

    reason: str
    quantity: int | None = None


@dataclass(frozen=True, slots=True)
class LockedTicket:
    """A ticket and its quote, locked until the unit of work ends."""

    quote: QuoteHead
    ticket: StoredTicket


def hold(uow: UnitOfWork, ticket: StoredTicket) -> LockedTicket:
    """Lock a ticket's quote, then read the ticket again."""
    head = ticket.head
    quote = uow.quotes.hold(head.shop_id, head.quote_id)
    return LockedTicket(quote, uow.tickets.by_id(head.shop_id, head.id))


def start(uow: UnitOfWork, locked: LockedTicket, actor: Actor) -> StoredTicket:
    """Begin a ticket, which puts its quote in work. The caller commits.

    Raises:
        WrongState: it is begun, done or withdrawn already.
    """
    now = _moved(uow, locked, "start", locked.ticket.lots, actor)
    _note_moved(uow, actor, "ticket.started", locked, now)
    return now


def finish(uow: UnitOfWork, locked: LockedTicket, actor: Actor) -> StoredTicket:
    """Finish a ticket with all its pieces; the last one finishes its quote. The caller commits.

    Raises:
        WrongState: it is not in work.
        Conflict: a piece that must be recut is not done.
    """
    head = locked.ticket.head
    TICKET_LIFE.after(head.status, "finish", head.number)
    now = _moved(uow, locked, "finish", progress.finished(locked.ticket.lots), actor)
    _note_moved(uow, actor, "ticket.done", locked, now)
    others = uow.tickets.of_quote(head.shop_id, head.quote_id)
    if all(other.status in (FINISHED, TAKEN_BACK) for other in others):
        step(uow, locked.quote, "complete", actor)
    return now


def start_piece(uow: UnitOfWork, locked: LockedTicket, actor: Actor, number: int) -> StoredTicket:
    """Begin a piece. The caller commits.

    Raises:
        NotFound: the ticket has no such piece.
        WrongState: the state of the piece or its ticket does not allow it.
    """
    return _piece(
        uow, locked, number, "started", lambda lots: progress.moved(lots, number, "start"), actor
    )


def finish_piece(uow: UnitOfWork, locked: LockedTicket, actor: Actor, number: int) -> StoredTicket:
    """Finish a piece. The caller commits.

    Raises:
        NotFound: the ticket has no such piece.
        WrongState: the state of the piece or its ticket does not allow it.
    """
    return _piece(
        uow, locked, number, "done", lambda lots: progress.moved(lots, number, "finish"), actor
    )


def spoil_piece(
    uow: UnitOfWork, locked: LockedTicket, actor: Actor, number: int, spoiling: Spoiled, lost: Lost
) -> StoredTicket:
    """Mark a piece, or some of a lot, as spoiled and to be recut. The caller commits.

    `lost` tells what is lost with it, and is recorded for the reports.

    Raises:
        NotFound: the ticket has no such piece.
        WrongState: the state of the piece or its ticket does not allow it.
        BadValue: more pieces than there are.
    """

    def spoil(lots: Sequence[Lot]) -> tuple[Lot, ...]:
        return progress.spoiled(lots, number, spoiling.quantity, spoiling.reason)

    more = {"reason": spoiling.reason, "quantity": spoiling.quantity}
    now = _piece(uow, locked, number, "spoiled", spoil, actor, **more)
    before = {lot.number for lot in locked.ticket.lots if lot.status == progress.SPOILED}
    for lot in now.lots:
        if lot.status == progress.SPOILED and lot.number not in before:
            uow.facts.spoiled(lost(now, lot))
    return now


def shelve(uow: UnitOfWork, locked: LockedTicket, actor: Actor, shelf: str) -> StoredTicket:
    """Put a finished ticket on the shelf, or in another place there. The caller commits.

    Raises:
        WrongState: it is not done, or collected already.
    """
    head = locked.ticket.head
    HANDOVER.after(head.state, "shelve", head.number)
    ready = replace(head, shelf=shelf, ready_at=head.ready_at or actor.now)
    return _handed_over(uow, locked, ready, actor)


def collect(uow: UnitOfWork, locked: LockedTicket, actor: Actor, by: str) -> StoredTicket:
    """Hand a finished ticket to the customer. The caller commits.

    Raises:
        WrongState: it is not done, or collected already.
    """
    head = locked.ticket.head
    HANDOVER.after(head.state, "collect", head.number)
    gone = replace(head, collected_at=actor.now, collected_by=by, shelf="")
    return _handed_over(uow, locked, gone, actor)


def collect_all(uow: UnitOfWork, locked: QuoteHead, actor: Actor, by: str) -> QuoteHead:
    """Hand all that is left of a quote to the customer. The caller commits.

    Raises:
        WrongState: there is nothing left, or some of it is not done.
    """
    left = [
        head
        for head in uow.tickets.of_quote(locked.shop_id, locked.id)
        if head.state not in (COLLECTED, TAKEN_BACK)
    ]
    if not left:
        told = f"nothing of quote {locked.number} is left to collect"
        raise WrongState(told, facts={"state": locked.handover or locked.status, "possible": ""})
    for head in left:
        stored = uow.tickets.by_id(head.shop_id, head.id)
        collect(uow, LockedTicket(locked, stored), actor, by)
        locked = uow.quotes.hold(locked.shop_id, locked.id)
    return locked


def _handed_over(
    uow: UnitOfWork, locked: LockedTicket, now: TicketHead, actor: Actor
) -> StoredTicket:
    """Store how far a ticket is, and how far its quote is with it."""
    was, quote = locked.ticket, locked.quote
    now = replace(now, version=was.head.version + 1, updated_at=max(actor.now, was.head.updated_at))
    uow.tickets.change(was, now, was.lots)
    before, after = ticket_audit(was.head), ticket_audit(now)
    note_ticket(uow, actor, f"ticket.{now.state}", now.id, after, before)
    every = uow.tickets.of_quote(quote.shop_id, quote.id)
    handover = handover_of(head.state for head in every)
    kind = f"quote.{handover}" if handover != quote.handover else "quote.shelved"
    note_change(uow, quote, replace(quote, handover=handover), kind, actor)
    return StoredTicket(now, was.document, was.lots)


def _piece(
    uow: UnitOfWork,
    locked: LockedTicket,
    number: int,
    became: str,
    change: Callable[[Sequence[Lot]], tuple[Lot, ...]],
    actor: Actor,
    **more: Any,
) -> StoredTicket:
    head = locked.ticket.head
    TICKET_LIFE.after(head.status, "work", head.number)
    now = _moved(uow, locked, "work", change(locked.ticket.lots), actor)
    before, after = _lot_audit(locked.ticket, number), _lot_audit(now, number)
    note_ticket(uow, actor, f"piece.{became}", head.id, {**after, **more}, before)
    return now


def _note_moved(
    uow: UnitOfWork, actor: Actor, kind: str, locked: LockedTicket, now: StoredTicket
) -> None:
    before, after = ticket_audit(locked.ticket.head), ticket_audit(now.head)
    note_ticket(uow, actor, kind, now.head.id, after, before)


def _lot_audit(ticket: StoredTicket, number: int) -> dict[str, Any]:
    """Return the audit record of a piece."""
    lot = next(lot for lot in ticket.lots if lot.number == number)
    return {
        "number": ticket.head.number,
        "piece": number,
        "status": lot.status,
        "quantity": lot.quantity,
    }


def _moved(
    uow: UnitOfWork, locked: LockedTicket, action: str, lots: tuple[Lot, ...], actor: Actor
) -> StoredTicket:
    """Return the ticket one step further; its quote is begun too if it was not yet."""
    was = locked.ticket
    status = TICKET_LIFE.after(was.head.status, action, was.head.number)
    head = replace(
        was.head,
        status=status,
        version=was.head.version + 1,
        updated_at=max(actor.now, was.head.updated_at),
    )
    uow.tickets.change(was, head, lots)
    if locked.quote.status == ACCEPTED:
        step(uow, locked.quote, "begin", actor)
    return StoredTicket(head, was.document, lots)
