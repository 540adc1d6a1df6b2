"""`/v1/cut-tickets`: the bench's tickets, on screen or paper, and their progress.

Every action takes `If-Match`; `*` will do for a bench that only reports progress: what the table of
states does not allow is refused anyway, and the refusal gives the current state.
"""

from __future__ import annotations

from collections.abc import Callable

import orjson
from flask import Blueprint, Response, request

from schemas.quotes.steps import COLLECT, NOTHING, SHELVE, SPOIL, Spoiling
from schemas.quotes.stored import stored_shop
from schemas.tickets.records import NewSpoilage, StoredTicket, TicketFilter, TicketHead
from schemas.tickets.shapes import TicketList
from schemas.tickets.spoiled import spoilage
from schemas.tickets.stored import listed_ticket, stored_ticket_document
from service.api.http import negotiation, paging
from service.api.http.answers import answer
from service.api.http.body import body_of
from service.api.http.conditional import IfMatch, etag, tagged, unless_seen
from service.api.http.context import actor_of, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.app import tickets
from service.app.keys.access import Principal
from service.app.keys.actor import Actor
from service.app.quotes import in_turn
from service.app.tickets import LockedTicket, Spoiled
from service.domain.errors import NotFound, Stale
from service.domain.quotes.numbers import QUOTES, TICKETS
from service.domain.shop import Shop
from service.domain.tickets.progress import TICKET_LIFE, Lot
from service.persistence.instants import OF_QUOTES
from service.persistence.unit_of_work import UnitOfWork
from service.printing.language.spoken import speaking
from service.printing.on_demand import ticket_pdf
from service.printing.tickets.html import ticket_html

bp = Blueprint("cut_tickets", __name__)
SCOPES = ("bench", "counter")
FILTERS = ("limit", "cursor", "status", "quote", "updated_since")
STEP = Operation(
    scopes=SCOPES, recent=True, if_match=True, body=body_of(NOTHING, optional=True), once=True
)
"""A step of a ticket or of a piece of it."""
Act = Callable[[UnitOfWork, LockedTicket, Actor], StoredTicket]


@bp.get("/v1/cut-tickets")
@Operation(scopes=SCOPES, parameters=FILTERS)
def listed(call: Call) -> Response:
    """Return the shop's tickets, newest first."""
    actor, given = actor_of(call.principal), request.args
    since = paging.moment(given.get("updated_since"), "updated_since", actor.shop)
    quote_id, quote_serial = _quote(given.get("quote"))
    wanted = TicketFilter(
        status=paging.one_of("status", TICKET_LIFE.states),
        quote_id=quote_id,
        quote_serial=quote_serial,
        updated_since=since,
    )
    limit, after = paging.limit(), paging.cursor()
    with wiring().units.following() as uow:
        last = uow.instants.last(actor.principal.shop_id, OF_QUOTES)
        page = uow.tickets.page(actor.principal.shop_id, wanted, limit, after)
    rows = [listed_ticket(head) for head in page.heads]
    return paging.page_answer(rows, page.after, TicketList, until=paging.until(last))


def _quote(text: str | None) -> tuple[str | None, int | None]:
    """Return the id or the serial of the quote whose tickets are requested."""
    if text is None:
        return None, None
    if not QUOTES.means(text):
        return text, None
    try:
        return None, QUOTES.read(text)
    except NotFound as misread:
        raise paging.bad_parameter("quote", misread.message) from None


@bp.get("/v1/cut-tickets/<ticket>")
@Operation(scopes=SCOPES, parameters=("paper",), forms=negotiation.FORMS)
def one(call: Call, ticket: str) -> Response:
    """Return a ticket, by its id or number: JSON, a page, or on paper."""
    principal = call.principal
    form, paper = negotiation.form_wanted(), negotiation.paper_wanted()
    with wiring().units.reading() as uow:
        stored = found_ticket(uow, principal, ticket)
        if form != negotiation.JSON_FORM:
            with speaking(uow.shops.by_id(stored.head.shop_id).shop.locale):
                return _printed(stored, quote_of_ticket(uow, stored.head), form, paper)
    known = unless_seen(stored.head.version)
    return negotiation.varies(known or _shown(stored))


@bp.post("/v1/cut-tickets/<ticket>/start")
@STEP
def start(call: Call, ticket: str) -> Response:
    """Begin a ticket."""
    return _stepped(call, ticket, tickets.start)


@bp.post("/v1/cut-tickets/<ticket>/finish")
@STEP
def finish(call: Call, ticket: str) -> Response:
    """Finish a ticket, and every piece of it that was not finished separately."""
    return _stepped(call, ticket, tickets.finish)


@bp.post("/v1/cut-tickets/<ticket>/pieces/<piece>/start")
@STEP
def start_piece(call: Call, ticket: str, piece: str) -> Response:
    """Begin a piece, and its ticket if that is not begun."""

    def act(uow: UnitOfWork, locked: LockedTicket, actor: Actor) -> StoredTicket:
        return tickets.start_piece(uow, locked, actor, _piece(piece))

    return _stepped(call, ticket, act)


@bp.post("/v1/cut-tickets/<ticket>/pieces/<piece>/finish")
@STEP
def finish_piece(call: Call, ticket: str, piece: str) -> Response:
    """Finish a piece."""

    def act(uow: UnitOfWork, locked: LockedTicket, actor: Actor) -> StoredTicket:
        return tickets.finish_piece(uow, locked, actor, _piece(piece))

    return _stepped(call, ticket, act)


@bp.post("/v1/cut-tickets/<ticket>/pieces/<piece>/spoil")
@Operation(scopes=SCOPES, recent=True, if_match=True, body=body_of(SPOIL, optional=True), once=True)
def spoil_piece(call: Call, ticket: str, piece: str) -> Response:
    """Mark a piece as spoiled; another one is to be cut."""
    words: Spoiling = call.body

    def spoil(uow: UnitOfWork, locked: LockedTicket, actor: Actor) -> StoredTicket:
        book = wiring().shelf.book_within(uow, actor.principal.shop_id)

        def lost(stored: StoredTicket, lot: Lot) -> NewSpoilage:
            return spoilage(stored, lot, book, actor.now)

        spoiling = Spoiled(words.reason, words.quantity)
        return tickets.spoil_piece(uow, locked, actor, _piece(piece), spoiling, lost)

    return _stepped(call, ticket, spoil)


@bp.post("/v1/cut-tickets/<ticket>/shelve")
@Operation(scopes=SCOPES, recent=True, if_match=True, body=body_of(SHELVE), once=True)
def shelve(call: Call, ticket: str) -> Response:
    """Put a finished ticket on the shelf: it is ready to be collected."""
    shelf: str = call.body.shelf

    def act(uow: UnitOfWork, locked: LockedTicket, actor: Actor) -> StoredTicket:
        return tickets.shelve(uow, locked, actor, shelf)

    return _stepped(call, ticket, act)


@bp.post("/v1/cut-tickets/<ticket>/collect")
@Operation(
    scopes=("counter",), recent=True, if_match=True, body=body_of(COLLECT, optional=True), once=True
)
def collect(call: Call, ticket: str) -> Response:
    """Hand a finished ticket to the customer."""
    by: str = call.body.by

    def act(uow: UnitOfWork, locked: LockedTicket, actor: Actor) -> StoredTicket:
        return tickets.collect(uow, locked, actor, by)

    return _stepped(call, ticket, act)


def _piece(text: str) -> int:
    """Return the number of a piece in an address."""
    if text.isascii() and text.isdigit() and len(text) <= 6:
        return int(text)
    raise NotFound("pieces are numbered from 1; see progress of the ticket")


def found_ticket(uow: UnitOfWork, principal: Principal, ticket: str) -> StoredTicket:
    """Return the ticket with this id or number.

    Raises:
        NotFound: the shop has none, or the number was misread.
    """
    if TICKETS.means(ticket):
        return uow.tickets.by_serial(principal.shop_id, TICKETS.read(ticket))
    if "\0" in ticket:  # a NUL cannot be stored
        raise NotFound("this shop has no such ticket")
    return uow.tickets.by_id(principal.shop_id, ticket)


def _stepped(call: Call, ticket: str, act: Act) -> Response:
    actor = actor_of(call.principal)
    with wiring().units.writing() as uow:
        call.again(uow)
        actor = in_turn(uow, actor)
        locked = tickets.hold(uow, found_ticket(uow, actor.principal, ticket))
        _checked(call.if_match, locked.ticket.head)
        response = keep(uow, _shown(act(uow, locked, actor)))
        uow.commit()
    return response


def _checked(if_match: IfMatch, head: TicketHead) -> None:
    try:
        if_match.check(head.version)
    except Stale as stale:
        possible = " ".join(TICKET_LIFE.possible(head.status))
        facts = {"state": head.status, "possible": possible, "etag": etag(head.version)}
        raise Stale(stale.message, facts=facts) from None


def _shown(stored: StoredTicket) -> Response:
    return answer(stored_ticket_document(stored), headers=tagged(stored.head.version))


def quote_of_ticket(uow: UnitOfWork, head: TicketHead) -> tuple[Shop, str]:
    """Return the shop's settings that a ticket was made with, and the customer's name."""
    quote = uow.quotes.by_id(head.shop_id, head.quote_id).head
    shop = stored_shop(uow.quotes.revision(head.shop_id, quote.id, quote.revision))
    return shop, (orjson.loads(quote.customer or b"{}") or {}).get("name", "")


def _printed(stored: StoredTicket, quote: tuple[Shop, str], form: str, paper: str) -> Response:
    document, (shop, customer) = orjson.loads(stored.document), quote
    head = negotiation.printed_head(stored.head, shop.name, zone=shop.time_zone, customer=customer)
    if form == negotiation.PAGE_FORM:
        return negotiation.page(ticket_html(document, head))
    on = paper or negotiation.usual_paper(shop.ruler)
    return negotiation.pdf(ticket_pdf(document, head, on), stored.head.number)
