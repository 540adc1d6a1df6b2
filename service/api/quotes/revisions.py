"""`/v1/quotes/{quote_id}/revisions`: a quote calculated again, beside its earlier revisions.

Nothing is ever recalculated in place: what the customer was told stays as it was.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flask import Blueprint, Response, request, url_for
from marshmallow import ValidationError

from schemas.quotes.records import DatedRevision, NewQuote, Revision, StoredQuote
from schemas.quotes.revisions import changes, revision_document, revision_row
from schemas.quotes.shapes import Changes, RevisionList
from schemas.quotes.steps import REPRICE
from schemas.quotes.stored import jobs_that_stay, wish_of, worked
from schemas.tickets.records import NewSpoilage, StoredTicket
from schemas.tickets.spoiled import spoilage
from schemas.tickets.stored import made_tickets
from schemas.wire.document import read
from schemas.wire.fields import Words
from service.api.estimates.body import asked_currency, read_request, weigh
from service.api.http.answers import answer
from service.api.http.body import Body, read_json
from service.api.http.context import actor_of, wiring
from service.api.http.idempotency import keep
from service.api.http.negotiation import FORMS, JSON_FORM, form_wanted, paper_wanted, varies
from service.api.http.operation import Call, Operation
from service.api.http.paging import bad_parameter
from service.api.quotes.shown import checked, found_quote, printed_quote, quote_answer
from service.api.quotes.views import DOCUMENTS, READERS
from service.app import quotes
from service.app.customers import for_customer
from service.app.estimates.calculation import basis_on, within_limits
from service.app.keys.actor import Actor
from service.app.orders import ChangedOrder, change_order
from service.app.prices.coupons import coupon_of, for_coupon
from service.app.quotes import AcceptedRevision, new_quote, refuse_stopped, stands
from service.domain.errors import NotFound
from service.domain.estimates.calculation import estimate_request
from service.domain.prices.book import ShopBook
from service.domain.quotes.life import ACCEPTED, DRAFT, IN_WORK, QUOTE_LIFE
from service.domain.tickets.progress import Lot
from service.persistence.sql.session import StorageUnavailable

bp = Blueprint("quote_revisions", __name__)
CHOICE = Words(longest=80, shortest=1)


@bp.post("/v1/quotes/<quote_id>/revisions")
@Operation(
    scopes=("counter",),
    parameters=("choice",),
    if_match=True,
    body=Body("RevisionRequest"),
    once=True,
)
def revise(call: Call, quote_id: str) -> Response:
    """Calculate a new document, or the same one at today's prices, as the next revision."""
    actor, choice = actor_of(call.principal), _choice()
    sent, body = call.body, call.raw
    again = isinstance(sent, dict) and "reprice" in sent
    if again:
        read(REPRICE, sent)
    wired, principal = wiring(), actor.principal
    with wired.units.reading() as uow:
        was = found_quote(uow, principal, quote_id)
        checked(call.if_match, was.head, actor)
        QUOTE_LIFE.after(stands(was.head, actor), "revise", was.head.number)
        before = uow.quotes.revision(principal.shop_id, was.head.id, was.head.revision)
        if again:
            stored = uow.quotes.revision(principal.shop_id, was.head.id, was.head.revision)
            body = stored.request
            sent = read_json(body)
        book = wired.shelf.book_within(uow, principal.shop_id)
    new = _worked_out(
        sent, body, book, actor, was.head.id, offered=stands(was.head, actor) != DRAFT
    )
    change = None
    if stands(was.head, actor) in (ACCEPTED, IN_WORK):
        if choice:
            raise bad_parameter("choice", "an accepted quote is changed; it offers no choice")
        change = _changed(before, new, book)
    return _stored(call, was, new, book, actor, choice, change)


def _changed(before: Revision, new: NewQuote, book: ShopBook) -> ChangedOrder:
    """Return the change of order that a new revision is."""
    sold = worked(new.revision)
    taken = AcceptedRevision(
        0,
        sold.estimate.totals.total,
        sold.deposit,
        made_tickets(sold.estimate),
        sold.sale,
        wish_of(new.revision, sold.estimate, book.shop.ordering),
        coupon_of(sold.estimate.conditions),
    )
    return ChangedOrder(new, taken, jobs_that_stay(before, new.revision))


def _worked_out(
    sent: Any, body: bytes, book: ShopBook, actor: Actor, quote_id: str, *, offered: bool
) -> NewQuote:
    """Return the document calculated as a new quote would be: by today's list and settings.

    Raises:
        JobRefused: it is `offered` to the customer and cannot be made.
    """
    basis = basis_on(book, actor.today, asked_currency(sent))
    asked = read_request(sent, basis)
    weigh(asked, actor.principal)
    units, principal, currency = wiring().units, actor.principal, basis.price_list.currency.code
    asked = for_customer(asked, units, principal, actor.today)
    asked = for_coupon(asked, units, principal, actor.today, currency, quote_id)
    estimate = estimate_request(asked.jobs, basis, asked.conditions)
    within_limits(estimate, actor.principal)
    if offered:
        refuse_stopped(estimate)
    return new_quote(asked, body, estimate, DOCUMENTS, actor.principal, actor.now, "")


def _choice() -> str:
    """Return the revision's name if it is offered beside the others; else ""."""
    given = request.args.get("choice")
    if given is None:
        return ""
    try:
        called: str = CHOICE.read(given)
    except ValidationError:
        raise bad_parameter(
            "choice", "a choice is called by 1 to 80 printable characters"
        ) from None
    return called


def _stored(
    call: Call,
    was: StoredQuote,
    new: NewQuote,
    book: ShopBook,
    actor: Actor,
    choice: str,
    change: ChangedOrder | None,
) -> Response:
    """Store and return the revision, if neither the quote nor the shop's prices have changed."""
    with wiring().units.writing() as uow:
        call.again(uow)
        if uow.shops.version(actor.principal.shop_id) != book.version:
            raise StorageUnavailable("the shop's prices are being changed just now; try again")
        actor = quotes.in_turn(uow, actor)
        if change is None:
            head = quotes.revise(uow, was.head, new, actor, choice)
        else:

            def lost(stored: StoredTicket, lot: Lot) -> NewSpoilage:
                return spoilage(stored, lot, book, actor.now)

            locked = uow.quotes.hold(was.head.shop_id, was.head.id)
            checked(call.if_match, locked, actor)
            head = change_order(uow, locked, change, actor, wiring().new_id, lost)
        made = StoredQuote(head, new.revision.result, new.revision.costs)
        place = url_for("quote_revisions.one", quote_id=head.id, revision=str(head.revision))
        response = keep(
            uow, quote_answer(made, actor, uow=uow, status=201, headers={"Location": place})
        )
        uow.commit()
    return response


@bp.get("/v1/quotes/<quote_id>/revisions")
@Operation(scopes=READERS)
def listed(call: Call, quote_id: str) -> Response:
    """Return every revision of a quote, the first one first."""
    principal = call.principal
    with wiring().units.reading() as uow:
        head = found_quote(uow, principal, quote_id).head
        rows = uow.quotes.revisions(principal.shop_id, head.id)
    return answer(RevisionList(head.number, tuple([revision_row(row) for row in rows])))


@bp.get("/v1/quotes/<quote_id>/revisions/<revision>")
@Operation(scopes=READERS, parameters=("paper",), forms=FORMS)
def one(call: Call, quote_id: str, revision: str) -> Response:
    """Return one whole revision as the customer was told: JSON, or a page or paper."""
    principal = call.principal
    form, paper = form_wanted(), paper_wanted()
    number = _number(revision)
    with wiring().units.reading() as uow:
        head = found_quote(uow, principal, quote_id).head
        found = _of_number(uow.quotes.revisions(principal.shop_id, head.id), number)
        if form != JSON_FORM:
            kept = uow.quotes.revision(principal.shop_id, head.id, number)
            told = StoredQuote(replace(head, revision=number), found.result, found.costs)
            return printed_quote(uow, told, kept, form, paper)
    costs = found.costs if principal.sees_costs else None
    return varies(answer(revision_document(head, found, costs)))


@bp.get("/v1/quotes/<quote_id>/revisions/<revision>/changes")
@Operation(scopes=READERS)
def changed(call: Call, quote_id: str, revision: str) -> Response:
    """Return the changes from the previous revision, in words."""
    principal = call.principal
    number = _number(revision)
    with wiring().units.reading() as uow:
        head = found_quote(uow, principal, quote_id).head
        now = uow.quotes.revision(principal.shop_id, head.id, number)
        if number == 1:
            raise NotFound("there is nothing before the first revision that it could differ from")
        was = uow.quotes.revision(principal.shop_id, head.id, number - 1)
    return answer(Changes(head.number, before=number - 1, to=number, changes=changes(was, now)))


def _number(text: str) -> int:
    if text.isascii() and text.isdigit() and 0 < len(text) <= 6:
        return int(text)
    raise NotFound("revisions are numbered from 1")


def _of_number(rows: tuple[DatedRevision, ...], number: int) -> DatedRevision:
    for row in rows:
        if row.number == number:
            return row
    raise NotFound(f"this quote has no revision {number}; it has 1 to {len(rows)}")
