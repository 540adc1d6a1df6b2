"""Finding and showing a stored quote, for every address that answers with one."""

from __future__ import annotations

from collections.abc import Mapping

import orjson
from flask import Response

from schemas.quotes.answer import already_cut, quote_document
from schemas.quotes.records import QuoteHead, Revision, StoredQuote
from schemas.quotes.revisions import revision_row
from schemas.quotes.shapes import RevisionRow
from schemas.quotes.stored import stored_shop
from schemas.tickets.records import StoredSpoilage, TicketHead
from service.api.http import negotiation
from service.api.http.answers import answer
from service.api.http.conditional import IfMatch, etag, tagged
from service.app.keys.access import Principal
from service.app.keys.actor import Actor
from service.app.quotes import edition, on_offer, stands
from service.domain.errors import NotFound, Stale
from service.domain.quotes.life import ACCEPTED, DONE, IN_WORK, QUOTE_LIFE, WITHDRAWN
from service.domain.quotes.numbers import QUOTES
from service.domain.tickets.progress import TAKEN_BACK
from service.persistence.unit_of_work import UnitOfWork
from service.printing.language.spoken import speaking
from service.printing.on_demand import quote_pdf
from service.printing.quotes.html import quote_html

WITH_TICKETS = (ACCEPTED, IN_WORK, DONE, WITHDRAWN)
"""The states in which a quote may have tickets."""


def found_quote(uow: UnitOfWork, principal: Principal, quote: str) -> StoredQuote:
    """Return the quote with this id or number.

    Raises:
        NotFound: the shop has none, or the number was misread.
    """
    if QUOTES.means(quote):
        return uow.quotes.by_serial(principal.shop_id, QUOTES.read(quote))
    if "\0" in quote:  # a NUL cannot be stored
        raise NotFound("this shop has no such quote")
    return uow.quotes.by_id(principal.shop_id, quote)


def checked(if_match: IfMatch, head: QuoteHead, actor: Actor) -> None:
    """Check that the caller has seen the quote's current state.

    Raises:
        Stale: it has not; the refusal gives the current state.
    """
    number, state = edition(head, actor.today), stands(head, actor)
    try:
        if_match.check(number)
    except Stale as stale:
        possible = " ".join(QUOTE_LIFE.possible(state))
        facts = {"state": state, "possible": possible, "etag": etag(number)}
        raise Stale(stale.message, facts=facts) from None


def quote_answer(
    stored: StoredQuote,
    actor: Actor,
    *,
    uow: UnitOfWork | None = None,
    status: int = 200,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Return a quote as JSON, with its entity tag; its tickets, if any, are read from `uow`."""
    head, principal = stored.head, actor.principal
    tickets: tuple[TicketHead, ...] = ()
    if uow is not None and head.status in WITH_TICKETS:
        tickets = uow.tickets.of_quote(head.shop_id, head.id)
    choices = [] if uow is None else _choices(uow, head)
    costs = stored.costs if principal.sees_costs else None
    cut: tuple[StoredSpoilage, ...] = ()
    if uow is not None and any(each.status == TAKEN_BACK for each in tickets):
        cut = uow.figures.given_up(head.id)
    already = already_cut(cut, actor.shop.ruler, with_costs=principal.sees_costs)
    body = quote_document(
        head, stored.result, costs, stands(head, actor), tickets, choices, already
    )
    return answer(body, status, {**tagged(edition(head, actor.today)), **(headers or {})})


def _choices(uow: UnitOfWork, head: QuoteHead) -> list[RevisionRow]:
    """Return the revisions that the customer may choose from, if there are several."""
    if len(on_offer(head)) < 2:
        return []
    rows = uow.quotes.revisions(head.shop_id, head.id)
    return [revision_row(row) for row in rows if row.number in on_offer(head)]


def printed_quote(
    uow: UnitOfWork, stored: StoredQuote, revision: Revision, form: str, paper: str
) -> Response:
    """Return a quote for the customer: a page, or on paper; never with costs."""
    shop, head = stored_shop(revision), stored.head
    written = quote_document(head, stored.result, None, choices=_choices(uow, head))
    document = orjson.loads(written)
    with speaking(uow.shops.by_id(head.shop_id).shop.locale):
        if form == negotiation.PAGE_FORM:
            return negotiation.page(quote_html(document, shop.name, shop.ruler, shop.letterhead))
        on = paper or negotiation.usual_paper(shop.ruler)
        made = quote_pdf(document, shop.name, shop.ruler, on, shop.letterhead)
    return negotiation.pdf(made, head.number)
