"""`/v1/quotes`: stored quotes, their list, and the workings of their figures."""

from __future__ import annotations

from dataclasses import replace
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response

from schemas.quotes.answer import StoredQuoteDocuments, listed_document
from schemas.quotes.records import Footing, NewQuote, QuoteHead, StoredQuote
from schemas.quotes.shapes import QuoteList
from schemas.quotes.workings import workings_document
from service.api.estimates.body import asked_currency, read_request, weigh
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.conditional import unless_seen
from service.api.http.context import actor_of, wiring
from service.api.http.idempotency import keep, keeps
from service.api.http.negotiation import FORMS, JSON_FORM, form_wanted, paper_wanted, varies
from service.api.http.operation import Call, Operation
from service.api.http.paging import QUOTE_FILTERS, page_answer, until, wanted_of
from service.api.http.problems import RequestRefused
from service.api.quotes.shown import found_quote, printed_quote, quote_answer
from service.app.customers import answerable, for_customer
from service.app.estimates.calculation import basis_on, within_limits
from service.app.keys.access import Principal
from service.app.keys.actor import Actor
from service.app.keys.settling import settled
from service.app.prices.coupons import for_coupon
from service.app.quotes import created, edition, new_quote, stands
from service.app.shop import too_many_draft_bytes, too_many_drafts
from service.domain.errors import JobRefused, NotFound, NotPriced, Stale
from service.domain.estimates.calculation import estimate_request
from service.domain.prices.book import ShopBook
from service.domain.quotes.life import DRAFT, shop_day
from service.persistence.instants import OF_QUOTES
from service.persistence.sql.session import OutcomeUnknown, StorageUnavailable
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("quotes", __name__)
READERS = ("counter", "reports")
DOCUMENTS = StoredQuoteDocuments()


@bp.post("/v1/quotes")
@Operation(scopes=("price", "counter"), recent=True, body=Body("QuoteRequest"), once=True)
def create(call: Call) -> Response:
    """Calculate a document and store it as a quote."""
    principal, document, body = call.principal, call.body, call.raw
    shelf = wiring().shelf
    book = shelf.recent_book(principal.shop_id)
    try:
        return _stored(document, body, principal, book)
    except (JobRefused, NotPriced):
        if shelf.book(principal.shop_id).version == book.version:
            raise
    except Stale:  # a cached key or book has changed since
        principal = call.again()
    try:
        return _stored(document, body, principal, shelf.book(principal.shop_id))
    except Stale as changed:
        told = "the shop's prices are being changed just now; try again"
        raise StorageUnavailable(told) from changed


def _stored(document: Any, body: bytes, principal: Principal, book: ShopBook) -> Response:
    """Return the answer for a document calculated from a book and stored.

    The calculation comes before any request to storage, and the answer is written after others may
    go on, unless it has to be stored too. The key and the book are checked again when the quote
    takes its number, so that neither a revoked key nor an old price is used.

    Raises:
        Stale: the book is no longer the shop's, or the key has changed or is out of force.
    """
    wired = wiring()
    now = wired.clock()
    day = shop_day(book.shop, now)
    basis = basis_on(book, day, asked_currency(document))
    currency = basis.price_list.currency.code
    with answerable(document, book.shop, principal, wired.settings.form_key):
        asked = read_request(document, basis)
        weigh(asked, principal)
        asked = for_customer(asked, wired.units, principal, day)
        asked = for_coupon(asked, wired.units, principal, day, currency)
        estimate = estimate_request(asked.jobs, basis, asked.conditions)
        within_limits(estimate, principal)
        new = new_quote(asked, body, estimate, DOCUMENTS, principal, now, wired.new_id())
    new = replace(new, serial=wired.units.serial(new.shop_id))
    actor = Actor(principal, book.shop, now)
    footing = Footing(book.version, principal.key_id, principal.key_version, now)
    try:
        alone = new.status != DRAFT and not keeps() and not new.customer_id
        with wired.units.storing(new) if alone else wired.units.writing() as uow:
            if new.status == DRAFT:
                _room_for_draft(uow, principal, new)
            head = uow.quotes.add(new, footing, created)
            if new.customer_id:
                uow.customers.link(new.shop_id, new.id, new.customer_id)
            made = keep(uow, _created(new, head, actor)) if keeps() else None
            uow.commit()
    except OutcomeUnknown as lost:
        if keeps():
            raise  # the answer is found under its key, if it was stored
        head, made = _settled(new, lost.waited), None
    return made or _created(new, head, actor)


def _settled(new: NewQuote, waited: float) -> QuoteHead:
    """Return the quote as stored by a transaction whose outcome was unknown.

    Raises:
        StorageUnavailable: nothing was stored.
        OutcomeUnknown: the database still cannot be asked.
    """
    try:
        return settled(wiring().units, lambda uow: uow.quotes.settle(new.shop_id, new.id), waited)
    except NotFound:
        raise StorageUnavailable("the database was lost; nothing was stored") from None


def _created(new: NewQuote, head: QuoteHead, actor: Actor) -> Response:
    """Return the answer to a quote that was stored."""
    stored = StoredQuote(head, new.revision.result, new.revision.costs)
    headers = {"Location": f"/v1/quotes/{head.id}"}
    return quote_answer(stored, actor, status=201, headers=headers)


def _room_for_draft(uow: UnitOfWork, principal: Principal, new: NewQuote) -> None:
    """Check that public forms are within their limits: their keys are not secret.

    Raises:
        RequestRefused: 429.
    """
    settings, now, working = wiring().settings, new.created_at, new.revision
    most = settings.drafts_per_day
    if too_many_drafts(uow, principal.shop_id, now, most):
        raise _too_much(f"public forms may leave {most} drafts a day in this shop")
    most = settings.draft_bytes_per_day
    size = len(working.request) + len(working.result) + len(working.costs)
    if too_many_draft_bytes(uow, principal.key_id, now, size, most):
        raise _too_much(f"this form may leave {most} bytes of drafts a day, and has left them")


def _too_much(message: str) -> RequestRefused:
    return RequestRefused(
        HTTPStatus.TOO_MANY_REQUESTS,
        "too_many_requests",
        f"{message}; call the shop instead",
        headers={"Retry-After": "3600"},
    )


@bp.get("/v1/quotes")
@Operation(scopes=READERS, parameters=QUOTE_FILTERS)
def listed(call: Call) -> Response:
    """Return the shop's quotes, newest first."""
    actor = actor_of(call.principal)
    wanted = wanted_of(actor.shop)
    with wiring().units.following() as uow:
        last = uow.instants.last(actor.principal.shop_id, OF_QUOTES)
        page = uow.quotes.page(
            actor.principal.shop_id, wanted.filter, wanted.limit, wanted.after, actor.today
        )
    rows = [listed_document(head, stands(head, actor)) for head in page.heads]
    return page_answer(rows, page.after, QuoteList, until=until(last))


@bp.get("/v1/quotes/<quote_id>")
@Operation(scopes=READERS, parameters=("paper",), forms=FORMS)
def one(call: Call, quote_id: str) -> Response:
    """Return a stored quote, by its id or number: JSON, or for the customer a page or paper."""
    principal = call.principal
    form, paper = form_wanted(), paper_wanted()
    actor = actor_of(principal)
    with wiring().units.reading() as uow:
        stored = found_quote(uow, principal, quote_id)
        if form != JSON_FORM:
            revision = uow.quotes.revision(principal.shop_id, stored.head.id, stored.head.revision)
            return printed_quote(uow, stored, revision, form, paper)
        if known := unless_seen(edition(stored.head, actor.today)):
            return varies(known)
        return varies(quote_answer(stored, actor, uow=uow))


@bp.get("/v1/quotes/<quote_id>/workings")
@Operation(scopes=READERS)
def workings(call: Call, quote_id: str) -> Response:
    """Return the derivation of every figure of a quote."""
    principal = call.principal
    with wiring().units.reading() as uow:
        head = found_quote(uow, principal, quote_id).head
        revision = uow.quotes.revision(principal.shop_id, head.id, head.revision)
    return answer(workings_document(head, revision))
