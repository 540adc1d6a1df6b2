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
from schemas.tickets.records import NewSpoilage, StoredTicket
from service.app.keys.actor import Press
from service.app.quotes import note_ticket, step, ticket_audit
from service.domain.quotes.life import ACCEPTED
from service.domain.tickets import progress
from service.domain.tickets.progress import FINISHED, TICKET_LIFE, Lot
from service.persistence.unit_of_work import UnitOfWork

Lost = Callable[[StoredTicket, Lot], NewSpoilage]
"""Returns what is lost with a spoiled lot of a ticket."""


@dataclass(frozen=True, slots=True)
class Spoiled:
    """A report of spoiled pieces: what happened, and how many; all by default."""

    reason: str
    quantity: int | None = None


@dataclass(frozen=True, slots=True)
class Held:
    """A ticket and its quote, locked until the unit of work ends."""

    quote: QuoteHead
    ticket: StoredTicket


def hold(uow: UnitOfWork, ticket: StoredTicket) -> Held:
    """Lock a ticket's quote, then read the ticket again."""
    head = ticket.head
    quote = uow.quotes.hold(head.shop_id, head.quote_id)
    return Held(quote, uow.tickets.by_id(head.shop_id, head.id))


def start(uow: UnitOfWork, held: Held, press: Press) -> StoredTicket:
    """Begin a ticket, which puts its quote in work. The caller commits.

    Raises:
        WrongState: it is begun, done or withdrawn already.
    """
    now = _moved(uow, held, "start", held.ticket.lots, press)
    _note_moved(uow, press, "ticket.started", held, now)
    return now


def finish(uow: UnitOfWork, held: Held, press: Press) -> StoredTicket:
    """Finish a ticket with all its pieces; the last one finishes its quote. The caller commits.

    Raises:
        WrongState: it is not in work.
        Conflict: a piece that must be recut is not done.
    """
    head = held.ticket.head
    TICKET_LIFE.after(head.status, "finish", head.number)
    now = _moved(uow, held, "finish", progress.finished(held.ticket.lots), press)
    _note_moved(uow, press, "ticket.done", held, now)
    others = uow.tickets.of_quote(head.shop_id, head.quote_id)
    if all(other.status == FINISHED for other in others):
        step(uow, held.quote, "complete", press)
    return now


def start_piece(uow: UnitOfWork, held: Held, press: Press, number: int) -> StoredTicket:
    """Begin a piece. The caller commits.

    Raises:
        NotFound: the ticket has no such piece.
        WrongState: the state of the piece or its ticket does not allow it.
    """
    return _piece(
        uow, held, number, "started", lambda lots: progress.moved(lots, number, "start"), press
    )


def finish_piece(uow: UnitOfWork, held: Held, press: Press, number: int) -> StoredTicket:
    """Finish a piece. The caller commits.

    Raises:
        NotFound: the ticket has no such piece.
        WrongState: the state of the piece or its ticket does not allow it.
    """
    return _piece(
        uow, held, number, "done", lambda lots: progress.moved(lots, number, "finish"), press
    )


def spoil_piece(
    uow: UnitOfWork, held: Held, press: Press, number: int, said: Spoiled, lost: Lost
) -> StoredTicket:
    """Mark a piece, or some of a lot, as spoiled and to be recut. The caller commits.

    `lost` tells what is lost with it, and is recorded for the reports.

    Raises:
        NotFound: the ticket has no such piece.
        WrongState: the state of the piece or its ticket does not allow it.
        BadValue: more pieces than there are.
    """

    def spoil(lots: Sequence[Lot]) -> tuple[Lot, ...]:
        return progress.spoiled(lots, number, said.quantity, said.reason)

    more = {"reason": said.reason, "quantity": said.quantity}
    now = _piece(uow, held, number, "spoiled", spoil, press, **more)
    before = {lot.number for lot in held.ticket.lots if lot.status == progress.SPOILED}
    for lot in now.lots:
        if lot.status == progress.SPOILED and lot.number not in before:
            uow.facts.spoiled(lost(now, lot))
    return now


def _piece(
    uow: UnitOfWork,
    held: Held,
    number: int,
    became: str,
    change: Callable[[Sequence[Lot]], tuple[Lot, ...]],
    press: Press,
    **more: Any,
) -> StoredTicket:
    head = held.ticket.head
    TICKET_LIFE.after(head.status, "work", head.number)
    now = _moved(uow, held, "work", change(held.ticket.lots), press)
    before, after = _lot_audit(held.ticket, number), _lot_audit(now, number)
    note_ticket(uow, press, f"piece.{became}", head.id, {**after, **more}, before)
    return now


def _note_moved(uow: UnitOfWork, press: Press, kind: str, held: Held, now: StoredTicket) -> None:
    before, after = ticket_audit(held.ticket.head), ticket_audit(now.head)
    note_ticket(uow, press, kind, now.head.id, after, before)


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
    uow: UnitOfWork, held: Held, action: str, lots: tuple[Lot, ...], press: Press
) -> StoredTicket:
    """Return the ticket one step further; its quote is begun too if it was not yet."""
    was = held.ticket
    status = TICKET_LIFE.after(was.head.status, action, was.head.number)
    head = replace(
        was.head,
        status=status,
        version=was.head.version + 1,
        updated_at=max(press.now, was.head.updated_at),
    )
    uow.tickets.change(was, head, lots)
    if held.quote.status == ACCEPTED:
        step(uow, held.quote, "begin", press)
    return StoredTicket(head, was.document, lots)
