"""`/v1/quotes/{quote_id}/from-rack`: what of a quote could be cut from the offcuts at hand."""

from __future__ import annotations

from flask import Blueprint, Response

from schemas.cutting.from_rack import from_rack_document, quote_wishes
from schemas.quotes.reworking import reworked
from schemas.tickets.stored import made_tickets
from service.api.http.answers import answer
from service.api.http.context import only_parameters, principal
from service.api.http.wired import wiring
from service.api.quotes.shown import found_quote
from service.app.cutting.from_rack import rack_basis
from service.app.cutting.planning import make_plan

part = Blueprint("from_rack", __name__)


@part.get("/v1/quotes/<quote_id>/from-rack")
def from_rack(quote_id: str) -> Response:
    """Which pieces the rack gives as it stands now; nothing is taken, and no price changes."""
    asks = principal("counter", "bench")
    only_parameters()
    wired = wiring()
    with wired.units.reading() as uow:
        was = found_quote(uow, asks, quote_id)
        revision = uow.quotes.revision(asks.shop_id, was.head.id, was.head.revision)
        book = wired.shelf.book_within(uow, asks.shop_id)
        wishes = quote_wishes(made_tickets(reworked(revision)))
        basis = rack_basis(uow, book, wishes)
    document = from_rack_document(make_plan(basis), book.shop)
    return answer({"number": was.head.number, "revision": was.head.revision, **document})
