"""`/v1/quotes/{quote_id}/issue`, `accept`, `decline`, `withdraw`, `promise`: a quote's steps.

Every step takes `If-Match`: of two concurrent steps one wins and the other gets 412.
"""

from __future__ import annotations

from dataclasses import replace

import orjson
from flask import Blueprint, Response, request

from schemas.quotes.records import Revision, StoredQuote
from schemas.quotes.shapes import Promise
from schemas.quotes.steps import ACCEPT, COLLECT, NOTHING, QUOTE_STEP, StepReason
from schemas.quotes.stored import stored_shop, wish_of, worked
from schemas.tickets.stored import made_tickets
from schemas.wire.figures import number
from schemas.wire.record import UNSET
from service.api.http.answers import answer
from service.api.http.body import body_of
from service.api.http.context import actor_of, wiring
from service.api.http.idempotency import keep
from service.api.http.negotiation import SVG_FORM, svg
from service.api.http.operation import Call, Operation
from service.api.http.paging import bad_parameter
from service.api.quotes.shown import checked, found_quote, quote_answer
from service.app import quotes
from service.app.prices.coupons import coupon_of
from service.app.quotes import AcceptedRevision, stands
from service.app.tickets import collect_all
from service.domain.measure.rounding import exact_sum
from service.domain.quotes.life import OPEN, QUOTE_LIFE
from service.domain.quotes.promise import lead_days
from service.domain.tickets.make import stops_of
from service.domain.tickets.model import TicketRefused
from service.printing.language.spoken import speaking
from service.printing.quotes.html import quote_drawing

bp = Blueprint("quote_life", __name__)
COUNTER = ("counter",)
EMPTY, REASON = body_of(NOTHING, optional=True), body_of(QUOTE_STEP, optional=True)


@bp.post("/v1/quotes/<quote_id>/issue")
@Operation(scopes=COUNTER, recent=True, if_match=True, body=EMPTY, once=True)
def issue(call: Call, quote_id: str) -> Response:
    """Issue a draft to the customer."""
    return _stepped(call, quote_id, "issue")


@bp.post("/v1/quotes/<quote_id>/decline")
@Operation(scopes=COUNTER, recent=True, if_match=True, body=REASON, once=True)
def decline(call: Call, quote_id: str) -> Response:
    """Record that the customer declines."""
    return _stepped(call, quote_id, "decline")


@bp.post("/v1/quotes/<quote_id>/withdraw")
@Operation(scopes=COUNTER, recent=True, if_match=True, body=REASON, once=True)
def withdraw(call: Call, quote_id: str) -> Response:
    """Withdraw a quote and its tickets, before any work is begun."""
    return _stepped(call, quote_id, "withdraw")


@bp.post("/v1/quotes/<quote_id>/collect")
@Operation(
    scopes=COUNTER, recent=True, if_match=True, body=body_of(COLLECT, optional=True), once=True
)
def collect(call: Call, quote_id: str) -> Response:
    """Hand all that is left of a quote to the customer."""
    actor = actor_of(call.principal)
    with wiring().units.writing() as uow:
        call.again(uow)
        actor = quotes.in_turn(uow, actor)
        was = found_quote(uow, actor.principal, quote_id)
        locked = uow.quotes.hold(was.head.shop_id, was.head.id)
        checked(call.if_match, locked, actor)
        now = collect_all(uow, locked, actor, call.body.by)
        response = keep(uow, quote_answer(replace(was, head=now), actor, uow=uow))
        uow.commit()
    return response


def _stepped(call: Call, quote_id: str, action: str) -> Response:
    actor = actor_of(call.principal)
    principal = actor.principal
    reason = call.body.reason if isinstance(call.body, StepReason) else ""
    with wiring().units.writing() as uow:
        call.again(uow)
        actor = quotes.in_turn(uow, actor)
        was = found_quote(uow, principal, quote_id)
        locked = uow.quotes.hold(principal.shop_id, was.head.id)
        checked(call.if_match, locked, actor)
        if action == "issue":
            _makeable(uow.quotes.revision(principal.shop_id, locked.id, locked.revision))
        if action == "withdraw":
            now = quotes.withdraw(uow, locked, actor, reason)
        else:
            now = quotes.step(uow, locked, action, actor, reason)
        response = keep(uow, quote_answer(replace(was, head=now), actor, uow=uow))
        uow.commit()
    return response


def _makeable(revision: Revision) -> None:
    """Check that a stored revision can be made.

    Raises:
        TicketRefused: it cannot; every stop is named.
    """
    if stops := stops_of(worked(revision).estimate.jobs):
        raise TicketRefused(stops, "this cannot be made, so it is not offered to the customer")


@bp.post("/v1/quotes/<quote_id>/accept")
@Operation(scopes=COUNTER, if_match=True, body=body_of(ACCEPT, optional=True), once=True)
def accept(call: Call, quote_id: str) -> Response:
    """Accept a quote, or one of its choices: a ticket for each job, a promised day.

    The tickets are made before storage is asked to change anything; a quote that is changed
    meanwhile is not accepted.
    """
    actor = actor_of(call.principal)
    wired, principal = wiring(), actor.principal
    with wired.units.reading() as uow:
        was = found_quote(uow, principal, quote_id)
        checked(call.if_match, was.head, actor)
        QUOTE_LIFE.after(stands(was.head, actor), "accept", was.head.number)
        number = quotes.revision_to_accept(was.head, call.body.revision)
        revision = uow.quotes.revision(principal.shop_id, was.head.id, number)
    sold = worked(revision)
    total = sold.estimate.totals.total
    made = made_tickets(sold.estimate)
    wish = wish_of(revision, sold.estimate, actor.shop.ordering)
    if call.body.wanted_by:
        wish = replace(wish, by=call.body.wanted_by)
    coupon = coupon_of(sold.estimate.conditions)
    accepted = AcceptedRevision(number, total, sold.deposit, made, sold.sale, wish, coupon)
    with wired.units.writing() as uow:
        call.again(uow)
        actor = quotes.in_turn(uow, actor)
        now = quotes.accept(uow, was.head, accepted, actor, wired.new_id)
        shown = StoredQuote(now, revision.result, revision.costs)
        response = keep(uow, quote_answer(shown, actor, uow=uow))
        uow.commit()
    return response


@bp.get("/v1/quotes/<quote_id>/promise")
@Operation(scopes=COUNTER)
def promise(call: Call, quote_id: str) -> Response:
    """Return when it would be ready if it were accepted today, and the reasons."""
    actor = actor_of(call.principal)
    principal = actor.principal
    with wiring().units.reading() as uow:
        was = found_quote(uow, principal, quote_id)
        revision = uow.quotes.revision(principal.shop_id, was.head.id, was.head.revision)
        waiting = uow.tickets.open_minutes(principal.shop_id)
        estimate = worked(revision).estimate
        own = exact_sum(job.minutes for job in estimate.jobs)
        day, first = was.head.promised, None
        wish = wish_of(revision, estimate, actor.shop.ordering)
        if day is None and was.head.status in OPEN and not stops_of(estimate.jobs):
            day = quotes.promised_day(uow, principal.shop_id, own, actor)
            first = quotes.earliest_day(uow, principal.shop_id, own, actor, wish)
            if wish.by and first and first <= wish.by:
                day = min(day or wish.by, wish.by)
    return answer(
        Promise(
            number=was.head.number,
            status=stands(was.head, actor),
            given=was.head.promised is not None,
            day=day.isoformat() if day else None,
            minutes=number(own),
            open_minutes=number(waiting),
            lead_days=lead_days(actor.shop.ordering, wish),
            wanted_by=wish.by.isoformat() if wish.by else UNSET,
            first_day=first.isoformat() if first else UNSET,
        )
    )


@bp.get("/v1/quotes/<quote_id>/drawing.svg")
@Operation(scopes=("counter", "reports"), parameters=("job",), forms=(SVG_FORM,))
def drawing(call: Call, quote_id: str) -> Response:
    """Return one job of a quote from the front, to scale, with its dimensions."""
    principal = call.principal
    with wiring().units.reading() as uow:
        was = found_quote(uow, principal, quote_id)
        revision = uow.quotes.revision(principal.shop_id, was.head.id, was.head.revision)
        locale = uow.shops.by_id(principal.shop_id).shop.locale
    jobs = orjson.loads(was.result)["jobs"]
    text = request.args.get("job", "1")
    if not (text.isascii() and text.isdigit() and len(text) <= 3 and 1 <= int(text) <= len(jobs)):
        raise bad_parameter("job", f"this quote has the jobs 1 to {len(jobs)}")
    with speaking(locale):
        return svg(quote_drawing(jobs[int(text) - 1], stored_shop(revision).ruler))
