"""`/v1/quotes/{quote_id}/issue`, `accept`, `decline`, `withdraw`, `promise`: a quote's steps.

Every step takes `If-Match`: of two concurrent steps one wins and the other gets 412.
"""

from __future__ import annotations

from dataclasses import replace

import orjson
from flask import Blueprint, Response

from schemas.quotes.records import StoredQuote
from schemas.quotes.shapes import Promise
from schemas.quotes.steps import ACCEPT, NOTHING, QUOTE_STEP, Said
from schemas.quotes.stored import stored_shop, worked
from schemas.tickets.stored import made_tickets
from schemas.wire.document import Document
from schemas.wire.figures import number
from service.api.http.answers import answer
from service.api.http.body import said
from service.api.http.conditional import must_match
from service.api.http.context import only_parameters, pressed, principal, wiring
from service.api.http.idempotency import keep, once
from service.api.http.negotiation import svg
from service.api.http.paging import bad_parameter, parameters
from service.api.quotes.shown import checked, found_quote, quote_answer
from service.app import quotes
from service.app.quotes import Taken, stands
from service.domain.measure.rounding import exact_sum
from service.domain.quotes.life import OPEN, QUOTE_LIFE
from service.printing.quotes.html import quote_drawing

bp = Blueprint("quote_life", __name__)


@bp.post("/v1/quotes/<quote_id>/issue")
@once
def issue(quote_id: str) -> Response:
    """Issue a draft to the customer."""
    return _stepped(quote_id, "issue", NOTHING)


@bp.post("/v1/quotes/<quote_id>/decline")
@once
def decline(quote_id: str) -> Response:
    """Record that the customer declines."""
    return _stepped(quote_id, "decline", QUOTE_STEP)


@bp.post("/v1/quotes/<quote_id>/withdraw")
@once
def withdraw(quote_id: str) -> Response:
    """Withdraw a quote and its tickets, before any work is begun."""
    return _stepped(quote_id, "withdraw", QUOTE_STEP)


def _stepped(quote_id: str, action: str, schema: Document) -> Response:
    press = pressed(principal("counter", recent=True))
    asks = press.asks
    only_parameters()
    seen, words = must_match(), said(schema)
    reason = words.reason if isinstance(words, Said) else ""
    with wiring().units.writing() as uow:
        principal("counter", uow=uow)
        press = quotes.in_turn(uow, press)
        was = found_quote(uow, asks, quote_id)
        held = uow.quotes.hold(asks.shop_id, was.head.id)
        checked(seen, held, press)
        if action == "withdraw":
            now = quotes.withdraw(uow, held, press, reason)
        else:
            now = quotes.step(uow, held, action, press, reason)
        response = keep(uow, quote_answer(replace(was, head=now), press, uow=uow))
        uow.commit()
    return response


@bp.post("/v1/quotes/<quote_id>/accept")
@once
def accept(quote_id: str) -> Response:
    """Accept a quote, or one of its choices: a ticket for each job, a promised day.

    The tickets are made before storage is asked to change anything; a quote that is changed
    meanwhile is not accepted.
    """
    press = pressed(principal("counter"))
    only_parameters()
    seen = must_match()
    words = said(ACCEPT)
    wired, asks = wiring(), press.asks
    with wired.units.reading() as uow:
        was = found_quote(uow, asks, quote_id)
        checked(seen, was.head, press)
        QUOTE_LIFE.after(stands(was.head, press), "accept", was.head.number)
        number = quotes.to_take(was.head, words.revision)
        revision = uow.quotes.revision(asks.shop_id, was.head.id, number)
    sold = worked(revision)
    total = sold.estimate.totals.total
    taken = Taken(number, total, sold.deposit, made_tickets(sold.estimate), sold.sale)
    with wired.units.writing() as uow:
        principal("counter", uow=uow)
        press = quotes.in_turn(uow, press)
        now = quotes.accept(uow, was.head, taken, press, wired.new_id)
        shown = StoredQuote(now, revision.result, revision.costs)
        response = keep(uow, quote_answer(shown, press, uow=uow))
        uow.commit()
    return response


@bp.get("/v1/quotes/<quote_id>/promise")
def promise(quote_id: str) -> Response:
    """Return when it would be ready if it were accepted today, and the reasons."""
    press = pressed(principal("counter"))
    only_parameters()
    asks = press.asks
    with wiring().units.reading() as uow:
        was = found_quote(uow, asks, quote_id)
        revision = uow.quotes.revision(asks.shop_id, was.head.id, was.head.revision)
        waiting = uow.tickets.open_minutes(asks.shop_id)
        own = exact_sum(job.minutes for job in worked(revision).estimate.jobs)
        day = was.head.promised
        if day is None and was.head.status in OPEN:
            day = quotes.promised_day(uow, asks.shop_id, own, press)
    return answer(
        Promise(
            number=was.head.number,
            status=stands(was.head, press),
            given=was.head.promised is not None,
            day=day.isoformat() if day else None,
            minutes=number(own),
            open_minutes=number(waiting),
            lead_days=press.shop.ordering.lead_days,
        )
    )


@bp.get("/v1/quotes/<quote_id>/drawing.svg")
def drawing(quote_id: str) -> Response:
    """Return one job of a quote from the front, to scale, with its dimensions."""
    asks = principal("counter", "reports")
    given = parameters("job")
    with wiring().units.reading() as uow:
        was = found_quote(uow, asks, quote_id)
        revision = uow.quotes.revision(asks.shop_id, was.head.id, was.head.revision)
    jobs = orjson.loads(was.result)["jobs"]
    text = given.get("job", "1")
    if not (text.isascii() and text.isdigit() and len(text) <= 3 and 1 <= int(text) <= len(jobs)):
        raise bad_parameter("job", f"this quote has the jobs 1 to {len(jobs)}")
    return svg(quote_drawing(jobs[int(text) - 1], stored_shop(revision).ruler))
