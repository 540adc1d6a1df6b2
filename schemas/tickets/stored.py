"""Tickets of stored quotes: made from the quote's own data, and shown from storage.

A ticket's document is written once, when its quote is accepted. It is later shown unchanged, after
a head that gives the progress at the bench.
"""

from __future__ import annotations

from schemas.tickets import shapes
from schemas.tickets.document import ticket_document
from schemas.tickets.records import MadeTicket, StoredTicket, TicketHead
from schemas.wire.figures import instant, number, spliced
from schemas.wire.record import UNSET, encode, extended
from service.domain.estimates.calculation import Estimate, JobEstimate
from service.domain.jobs.notes import Note
from service.domain.shop import Shop
from service.domain.tickets.make import make_ticket, stops_of
from service.domain.tickets.model import TicketRefused
from service.domain.tickets.progress import Lot, first_lots


def made_tickets(estimate: Estimate) -> tuple[MadeTicket, ...]:
    """Return the ticket of each job of a quote.

    Raises:
        TicketRefused: naming every advisory that stops a job, its pointer from the quote's root.
        TicketNotProved: a ticket's cuts would not produce what was ordered (our fault).
    """
    if stops := stops_of(estimate.jobs):
        raise TicketRefused(stops)
    notes = estimate.conditions.notes
    return tuple(_made(job, estimate.basis.shop, notes) for job in estimate.jobs)


def _made(job: JobEstimate, shop: Shop, notes: tuple[Note, ...]) -> MadeTicket:
    ticket = make_ticket(job, shop, notes)
    return MadeTicket(
        label=ticket.label,
        quantity=ticket.quantity,
        minutes=ticket.minutes,
        document=encode(ticket_document(ticket)),
        lots=first_lots(ticket.pieces),
    )


def ticket_head_document(head: TicketHead) -> shapes.TicketHead:
    """Return a stored ticket without its document."""
    return shapes.TicketHead(
        id=head.id,
        number=head.number,
        status=head.status,
        quote=shapes.TicketQuote(
            id=head.quote_id, number=head.quote_number, job=head.job + 1, jobs=head.jobs
        ),
        reference=head.reference,
        promised=head.promised.isoformat() if head.promised else None,
        handover=UNSET if head.state == head.status else head.state,
        shelf=head.shelf or UNSET,
        ready_at=UNSET if head.ready_at is None else instant(head.ready_at),
        collected_at=UNSET if head.collected_at is None else instant(head.collected_at),
        collected_by=head.collected_by or UNSET,
        created_at=instant(head.created_at),
        updated_at=instant(head.updated_at),
    )


def listed_ticket(head: TicketHead) -> shapes.TicketRow:
    """Return a row of a list of tickets."""
    return extended(
        ticket_head_document(head),
        shapes.TicketRow,
        label=head.label,
        quantity=head.quantity,
        minutes=number(head.minutes),
    )


def stored_ticket_document(stored: StoredTicket) -> bytes:
    """Return a stored ticket for display: head, progress, then its document's own bytes."""
    head = ticket_head_document(stored.head)
    top = extended(head, shapes.TicketTop, progress=tuple(map(_lot, stored.lots)))
    return spliced(top, stored.document)


def _lot(lot: Lot) -> shapes.Lot:
    return shapes.Lot(
        piece=lot.number,
        like=lot.like,
        quantity=lot.quantity,
        status=lot.status,
        reason=lot.reason or UNSET,
        recut_of=UNSET if lot.recut_of is None else lot.recut_of,
    )
