"""`POST /v1/estimates` and `POST /v1/estimates/sweep`: the whole calculation, nothing stored."""

from __future__ import annotations

from flask import Blueprint, Response

from schemas.estimates.answer import estimate_document
from schemas.estimates.sweep import sweep_document
from schemas.quotes.answer import costs_document
from schemas.quotes.request import SWEEP_REQUEST
from schemas.wire.document import read
from schemas.wire.record import UNSET
from service.api.estimates.body import asked_currency, read_request, weigh, weigh_sweep
from service.api.http.answers import answer
from service.api.http.body import Body
from service.api.http.context import wiring
from service.api.http.operation import Call, Operation
from service.app.customers import for_customer
from service.app.estimates.calculation import basis_on, within_limits
from service.app.prices.coupons import for_coupon
from service.domain.estimates.calculation import estimate_request
from service.domain.quotes.life import shop_day

bp = Blueprint("estimates", __name__)


@bp.post("/v1/estimates")
@Operation(scopes=("price", "counter"), recent=True, body=Body("QuoteRequest"))
def estimate(call: Call) -> Response:
    """Calculate a document."""
    principal, document, wired = call.principal, call.body, wiring()
    book = wired.shelf.recent_book(principal.shop_id)
    day = shop_day(book.shop, wired.clock())
    basis = basis_on(book, day, asked_currency(document))
    request = read_request(document, basis)
    weigh(request, principal)
    request = for_customer(request, wired.units, principal, day)
    currency = basis.price_list.currency.code
    request = for_coupon(request, wired.units, principal, day, currency)
    done = estimate_request(request.jobs, basis, request.conditions)
    within_limits(done, principal)
    costs = costs_document(done) if principal.sees_costs else UNSET
    return answer(estimate_document(done, costs=costs))


@bp.post("/v1/estimates/sweep")
@Operation(scopes=("price", "counter"), recent=True, body=Body("SweepRequest"))
def sweep(call: Call) -> Response:
    """Calculate one job with many mouldings or glazings."""
    principal = call.principal
    book = wiring().shelf.recent_book(principal.shop_id)
    basis = basis_on(book, shop_day(book.shop, wiring().clock()))
    request = read(SWEEP_REQUEST, call.body, unit=basis.shop.ruler.unit)
    if request.job.discounts:
        principal.must("counter")
    weigh_sweep(request, basis, principal)
    return answer(sweep_document(request, basis))
