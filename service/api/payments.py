"""`/v1/quotes/{quote_id}/payments`: what the till took, and what is still owed."""

from __future__ import annotations

from typing import Any, cast

from flask import Blueprint, Response, url_for

from schemas.payments.shapes import PaymentAsked, PaymentDocument, payment_list
from schemas.quotes.records import QuoteHead
from service.api.http.answers import answer
from service.api.http.body import body_of
from service.api.http.context import actor_of, wiring
from service.api.http.idempotency import keep
from service.api.http.operation import Call, Operation
from service.api.quotes.shown import found_quote
from service.app.payments import pay
from service.app.quotes import in_turn
from service.domain.errors import BadMoney
from service.domain.measure.money import Currency
from service.domain.measure.rounding import decimal_text
from service.domain.payments import Payment
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("payments", __name__)
PAYMENT = body_of(PaymentDocument())


@bp.post("/v1/quotes/<quote_id>/payments")
@Operation(scopes=("counter",), recent=True, body=PAYMENT, once=True)
def take(call: Call, quote_id: str) -> Response:
    """Record a payment, or money given back."""
    actor = actor_of(call.principal)
    wired = wiring()
    with wired.units.writing() as uow:
        call.again(uow)
        actor = in_turn(uow, actor)
        found = found_quote(uow, actor.principal, quote_id).head
        locked = uow.quotes.hold(found.shop_id, found.id)
        now = pay(uow, locked, _payment(call.body, locked), actor, wired.new_id())
        response = keep(uow, _told(uow, now, new=True))
        uow.commit()
    return response


@bp.get("/v1/quotes/<quote_id>/payments")
@Operation(scopes=("counter", "reports"))
def listed(call: Call, quote_id: str) -> Response:
    """Return every payment of a quote, and what is still owed."""
    with wiring().units.reading() as uow:
        return _told(uow, found_quote(uow, call.principal, quote_id).head)


def _told(uow: UnitOfWork, head: QuoteHead, *, new: bool = False) -> Response:
    payments = uow.payments.of_quote(head.shop_id, head.id)
    if not new:
        return answer(payment_list(head, payments))
    place = url_for("payments.listed", quote_id=head.id)
    return answer(payment_list(head, payments), 201, {"Location": place})


def _payment(asked: PaymentAsked, head: QuoteHead) -> Payment:
    try:
        amount = Currency(head.currency).of(decimal_text(*asked.amount.as_integer_ratio(), 6))
    except BadMoney as error:
        raise BadMoney(error.message, "/amount") from error
    return Payment(amount=amount, paid_by=cast(Any, asked.paid_by), reference=asked.reference)
