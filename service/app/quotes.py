"""The life of a stored quote: issued, accepted, declined, withdrawn, revised.

Each change names the quote as it was read; if another has changed it since, storage refuses
(`Stale`) and nothing is done. Each change is recorded for the feed and the audit.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from schemas.events.records import NewEvent
from schemas.quotes.figures.documents import worked_now
from schemas.quotes.records import NewQuote, NewSale, QuoteHead, Revision
from schemas.tickets.records import MadeTicket, NewTicket, TicketHead
from service.app.audit import note
from service.app.estimates.calculation import QuoteDocuments
from service.app.keys.access import Principal
from service.app.keys.actor import Actor
from service.app.prices.coupons import count_use, give_back
from service.domain.errors import Conflict, Fault, JobRefused
from service.domain.estimates.calculation import Estimate
from service.domain.measure.money import Money
from service.domain.measure.rounding import exact_sum
from service.domain.quotes.life import (
    ACCEPTED,
    DRAFT,
    ISSUED,
    OPEN,
    QUOTE_LIFE,
    QuoteRequest,
    shop_day,
    standing,
    valid_until,
)
from service.domain.quotes.promise import NoPromise, Wish, first_day, lead_days, promise
from service.domain.quotes.sale import Sale
from service.domain.tickets.make import stops_of
from service.domain.tickets.progress import TAKEN_BACK, TICKET_LIFE
from service.persistence.instants import OF_QUOTES
from service.persistence.sql.session import IdSource
from service.persistence.unit_of_work import UnitOfWork

MOST_REVISIONS = 200
KINDS = {
    "issue": "quote.issued",
    "accept": "quote.accepted",
    "decline": "quote.declined",
    "withdraw": "quote.withdrawn",
    "revise": "quote.revised",
    "begin": "quote.begun",
    "complete": "quote.done",
}
"""The names of actions in the feed."""


def in_turn(uow: UnitOfWork, actor: Actor) -> Actor:
    """Return the press with the timestamp of a change; other changes to the shop's quotes wait.

    Call this before locking anything else.
    """
    return replace(actor, now=uow.instants.turn(actor.principal.shop_id, OF_QUOTES, actor.now))


def stands(head: QuoteHead, actor: Actor) -> str:
    """Return the state of a quote today."""
    return standing(head.status, head.valid_until, actor.today)


def edition(head: QuoteHead, today: date) -> int:
    """Return a number for what a quote shows: two per version, since a new day may expire it."""
    return 2 * head.version + (standing(head.status, head.valid_until, today) != head.status)


def step(
    uow: UnitOfWork, was: QuoteHead, action: str, actor: Actor, reason: str = "", **more: Any
) -> QuoteHead:
    """Take a quote one step along its table; the caller commits.

    Raises:
        WrongState: the table has no such step.
        Stale: the quote was changed since it was read.
    """
    status = QUOTE_LIFE.after(stands(was, actor), action, was.number)
    now = replace(
        was,
        status=status,
        version=was.version + 1,
        updated_at=max(actor.now, was.updated_at),
        reason=reason,
        **more,
    )
    uow.quotes.change(was, now)
    _note(uow, actor, KINDS[action], "quote", was.id, _audit(was), _audit(now))
    return now


def note_change(
    uow: UnitOfWork, was: QuoteHead, now: QuoteHead, kind: str, actor: Actor
) -> QuoteHead:
    """Store a change of a locked quote that is no step of its life; the caller commits."""
    at = max(actor.now, was.updated_at)
    now = replace(now, version=was.version + 1, updated_at=at)
    uow.quotes.change(was, now)
    _note(uow, actor, kind, "quote", was.id, _audit(was), _audit(now))
    return now


def withdraw(uow: UnitOfWork, was: QuoteHead, actor: Actor, reason: str = "") -> QuoteHead:
    """Withdraw a quote, its tickets that are not begun, and its coupon's use; the caller commits.

    Raises:
        WrongState, Stale: as for `step`.
    """
    now = step(uow, was, "withdraw", actor, reason)
    if was.status == ACCEPTED:
        for head in uow.tickets.of_quote(was.shop_id, was.id):
            if head.status == TAKEN_BACK:  # by a change of order
                continue
            stored = uow.tickets.by_id(was.shop_id, head.id)
            status = TICKET_LIFE.after(head.status, "take_back", head.number)
            at = max(actor.now, head.updated_at)
            taken = replace(head, status=status, version=head.version + 1, updated_at=at)
            uow.tickets.change(stored, taken, stored.lots)
            before, after = ticket_audit(head), ticket_audit(taken)
            note_ticket(uow, actor, "ticket.withdrawn", taken.id, after, before)
        uow.facts.taken_back(was.id, actor.now)
        give_back(uow, actor, was.id)
    return now


@dataclass(frozen=True, slots=True)
class AcceptedRevision:
    """The accepted revision, its total, its jobs' tickets, the sale, and its coupon's code."""

    revision: int
    total: Money
    deposit: Money
    made: tuple[MadeTicket, ...]
    sale: Sale
    wish: Wish
    coupon: str = ""


def on_offer(head: QuoteHead) -> range:
    """Return the revisions that the customer may choose from; usually only the latest."""
    return range(head.offered_from, head.revision + 1)


def revision_to_accept(head: QuoteHead, number: int | None) -> int:
    """Return the revision to accept: the one named, or the only one on offer.

    Raises:
        JobRefused: there are several and none was named, or the one named is not on offer.
    """
    offered = on_offer(head)
    if number is not None and number in offered:
        return number
    if number is None and len(offered) == 1:
        return head.revision
    which = f"quote {head.number} offers revision {' or '.join(map(str, offered))}"
    raise JobRefused([Fault("/revision", "bad_choice", f"{which}; say which is taken")])


def accept(
    uow: UnitOfWork, was: QuoteHead, taken: AcceptedRevision, actor: Actor, new_id: IdSource
) -> QuoteHead:
    """Accept a quote: create a ticket for each job and set the promised day; the caller commits.

    If there were several choices, the accepted one is the quote from now on; the others stay
    readable.

    The tickets' numbers are requested first, which serialises acceptances in a shop: of two, the
    second counts the first one's minutes.

    Raises:
        WrongState, Stale: as for `step`.
        Conflict: it is wanted by a day that cannot be kept, or its coupon is used up.
    """
    made = taken.made
    serials = uow.tickets.numbers(was.shop_id, len(made))
    count_use(uow, actor, was.id, taken.coupon)
    minutes = exact_sum(one.minutes for one in made)
    promised = wished_day(uow, was.shop_id, minutes, actor, taken.wish)
    now = step(
        uow,
        was,
        "accept",
        actor,
        promised=promised,
        revision=taken.revision,
        offered_from=taken.revision,
        currency=taken.total.currency.code,
        total_minor=taken.total.minor,
        deposit_minor=taken.deposit.minor,
    )
    tickets = [new_ticket(now, at, made, actor, new_id(), at) for at in range(len(made))]
    uow.tickets.add(tickets, serials)
    uow.facts.sold(NewSale(was.shop_id, was.id, actor.now, taken.sale))
    for head in uow.tickets.of_quote(was.shop_id, was.id):
        note_ticket(uow, actor, "ticket.created", head.id, ticket_audit(head))
    return now


def new_ticket(
    now: QuoteHead,
    at: int,
    made: Sequence[MadeTicket],
    actor: Actor,
    ticket_id: str,
    place: int,
) -> NewTicket:
    """Return the ticket of the job at a position of an accepted quote.

    Args:
        now: the accepted quote; its promised day is the ticket's.
        at: the position of the job.
        made: what was made for all jobs of the quote.
        actor: who accepts, and when.
        ticket_id: the ticket's id.
        place: the stored place of the job, unique over all changes of the order.
    """
    one = made[at]
    return NewTicket(
        id=ticket_id,
        shop_id=now.shop_id,
        quote_id=now.id,
        job=place,
        jobs=len(made),
        label=one.label,
        quantity=one.quantity,
        minutes=one.minutes,
        document=one.document,
        lots=one.lots,
        created_at=actor.now,
        promised=now.promised,
    )


def promised_day(uow: UnitOfWork, shop_id: str, minutes: Fraction, actor: Actor) -> date | None:
    """Return the day on which this many minutes of work would be ready if accepted now.

    None if the bench has more than ten years of work: an order is not refused for that.
    """
    try:
        waiting = uow.tickets.open_minutes(shop_id)
        return promise(actor.today, waiting, minutes, actor.shop.ordering)
    except NoPromise:
        return None


def wished_day(
    uow: UnitOfWork, shop_id: str, minutes: Fraction, actor: Actor, wish: Wish
) -> date | None:
    """Return the day on which work would be ready if accepted now, no later than it is wanted.

    Raises:
        Conflict: the wanted day cannot be kept; the message names the first one that can.
    """
    usual = promised_day(uow, shop_id, minutes, actor)
    if wish.by is None or (usual is not None and usual <= wish.by):
        return usual
    first = earliest_day(uow, shop_id, minutes, actor, wish)
    if first is not None and first <= wish.by:
        return wish.by
    told = f"the first day that can be kept is {first}" if first else "no day can be promised"
    more = "" if wish.rush or not actor.shop.ordering.rush_fee else ", without the rush service"
    raise Conflict(f"it cannot be ready by {wish.by}: {told}{more}", "/wanted_by")


def earliest_day(
    uow: UnitOfWork, shop_id: str, minutes: Fraction, actor: Actor, wish: Wish
) -> date | None:
    """Return the first day for which this could be promised without breaking another promise."""
    ordering = actor.shop.ordering
    try:
        queue = uow.tickets.promised(shop_id)
        return first_day(actor.today, minutes, queue, ordering, lead_days(ordering, wish))
    except NoPromise:
        return None


def revise(
    uow: UnitOfWork, was: QuoteHead, new: NewQuote, actor: Actor, choice: str = ""
) -> QuoteHead:
    """Store another revision of a quote; the caller commits.

    With a `choice` it is offered beside those that are on offer, as long as they are valid; without
    one, and for a quote that was declined or has expired, it replaces them.

    Raises:
        WrongState, Stale: as for `step`.
        Conflict: it has been revised hundreds of times.
    """
    if was.revision >= MOST_REVISIONS:
        raise Conflict(
            f"quote {was.number} has {MOST_REVISIONS} revisions; withdraw it and make a new quote"
        )
    beside = bool(choice) and stands(was, actor) in OPEN
    now = step(
        uow,
        was,
        "revise",
        actor,
        revision=was.revision + 1,
        offered_from=was.offered_from if beside else was.revision + 1,
        reference=new.reference,
        customer=new.customer,
        currency=new.currency,
        total_minor=new.total_minor,
        deposit_minor=new.deposit_minor,
        valid_until=min(was.valid_until, new.valid_until) if beside else new.valid_until,
    )
    uow.quotes.add_revision(now, new.revision, choice)
    if new.customer_id:
        uow.customers.link(was.shop_id, was.id, new.customer_id)
    return now


def note_ticket(
    uow: UnitOfWork,
    actor: Actor,
    kind: str,
    ticket_id: str,
    after: dict[str, Any],
    before: dict[str, Any] | None = None,
) -> None:
    """Record a ticket's change and the states before and after.

    A new ticket has no state before.
    """
    _note(uow, actor, kind, "ticket", ticket_id, before, after)


def _note(
    uow: UnitOfWork,
    actor: Actor,
    kind: str,
    subject: str,
    subject_id: str,
    before: dict[str, Any] | None,
    after: dict[str, Any],
) -> None:
    note(
        uow,
        shop_id=actor.shop_id,
        key_id=actor.key_id,
        at=actor.now,
        kind=kind,
        subject=subject,
        subject_id=subject_id,
        before=None if before is None else _json(before),
        after=_json(after),
    )


def _json(document: dict[str, Any]) -> bytes:
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()


def ticket_audit(head: TicketHead) -> dict[str, Any]:
    """Return the audit record of a ticket."""
    return {
        "number": head.number,
        "quote": head.quote_number,
        "status": head.state,
        "shelf": head.shelf,
    }


def _audit(head: QuoteHead) -> dict[str, Any]:
    """Return the audit record of a quote, without the customer."""
    return {
        "number": head.number,
        "status": head.status,
        "revision": head.revision,
        "currency": head.currency,
        "total_minor": head.total_minor,
        "valid_until": head.valid_until.isoformat(),
        "promised": head.promised.isoformat() if head.promised else None,
        "reason": head.reason,
        "handover": head.handover,
        "paid_minor": head.paid_minor,
    }


def created(head: QuoteHead) -> NewEvent:
    """Return the event of a quote that is being stored."""
    after = {
        "number": head.number,
        "revision": head.revision,
        "status": head.status,
        "currency": head.currency,
        "total_minor": head.total_minor,
        "valid_until": head.valid_until.isoformat(),
    }
    return NewEvent(
        shop_id=head.shop_id,
        key_id=head.created_by,
        at=head.created_at,
        kind="quote.created",
        subject="quote",
        subject_id=head.id,
        after=json.dumps(after).encode(),
    )


def refuse_stopped(estimate: Estimate) -> None:
    """Check that a document can be made as it was sent.

    Raises:
        JobRefused: it cannot; every stop is named.
    """
    if stops := stops_of(estimate.jobs):
        raise JobRefused(Fault(each.pointer, each.code, each.message) for each in stops)


def new_quote(
    request: QuoteRequest,
    asked: bytes,
    estimate: Estimate,
    documents: QuoteDocuments,
    principal: Principal,
    now: datetime,
    quote_id: str,
) -> NewQuote:
    """Return a calculated document as a quote to be stored, with everything it rests on.

    A key for public forms leaves a draft; the shop's own keys issue a quote, unless it cannot be
    made: then they leave a draft too, and a public form is refused. Everything is
    serialised here, before storage is asked for a number: that is all that quotes of one shop wait
    for.

    Raises:
        JobRefused: a public form asks for what cannot be made; every reason is named.
    """
    shop, worked = estimate.basis.shop, worked_now(estimate)
    own, makeable = principal.may("counter"), not stops_of(estimate.jobs)
    if not own:
        refuse_stopped(estimate)
    return NewQuote(
        id=quote_id,
        shop_id=principal.shop_id,
        status=ISSUED if own and makeable else DRAFT,
        reference=request.reference,
        customer=documents.customer(request.customer),
        currency=estimate.basis.price_list.currency.code,
        total_minor=estimate.totals.total.minor,
        deposit_minor=worked.deposit.minor,
        created_at=now,
        valid_until=valid_until(shop, shop_day(shop, now)),
        created_by=principal.key_id,
        customer_id=request.customer.id,
        revision=Revision(
            request=asked,
            result=documents.result(estimate),
            papers=documents.papers(estimate),
            costs=documents.costs(worked),
            figures=documents.figures(worked),
        ),
    )
