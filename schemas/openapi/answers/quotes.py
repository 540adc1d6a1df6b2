"""The shapes of whole answers: estimates, sweeps, stored quotes, workings, costs, problems."""

from __future__ import annotations

from schemas.openapi.answers.life import LIFE
from schemas.openapi.answers.problems import PROBLEM
from schemas.openapi.answers.tickets import DAY_OR_NULL, TICKETS
from schemas.openapi.shapes import (
    FIGURES,
    INSTANT,
    UNTIL,
    Shape,
    growing,
    listed,
    money,
    one_of,
    ref,
    text,
    thing,
    whole,
)
from service.domain.quotes.life import STATUSES

CURRENCY: Shape = {
    "type": "string",
    "pattern": "^[A-Z]{3}$",
    "description": "The currency of every amount (ISO 4217).",
}
RESULT: dict[str, Shape] = {
    "currency": CURRENCY,
    "price_list": text("The price list that was in force."),
    "jobs": listed(ref("JobEstimate"), "The jobs, in the order in which they were sent."),
    "totals": ref("Totals"),
}
FOR_THE_SHOP = {"costs": ref("Costs", "Only for keys that may see costs.")}
HEAD: dict[str, Shape] = {
    "id": {"type": "string", "format": "uuid", "description": "Its identifier."},
    "number": {
        "type": "string",
        "pattern": "^Q[0-9]{6,}$",
        "description": "Its number, to be read out and printed; the last digit is a check digit.",
        "examples": ["Q100014"],
    },
    "status": growing(
        STATUSES,
        "`draft`: left by a public form. `issued`: given by the shop. `accepted`: taken, its "
        "tickets are made. `in_work`, `done`: the bench has begun, has finished. `declined`: the "
        "customer does not want it. `expired`: `valid_until` is past; that follows from the day "
        "alone and does not move `updated_at`. `withdrawn`: taken back by the shop.",
    ),
    "revision": whole("Which working of it this is; counts from 1.", 1),
    "reference": text("The caller's own number for it; empty where none was given."),
    "customer": ref("CustomerShown"),
    "created_at": {**INSTANT, "description": "When it was first stored (RFC 3339, UTC)."},
    "updated_at": {**INSTANT, "description": "When it last changed (RFC 3339, UTC)."},
    "valid_until": {
        "type": "string",
        "format": "date",
        "description": "The last day on which it holds, in the shop's time zone.",
    },
    "deposit_due": money("What is to be paid on accepting it: the shop's percentage, half up."),
    "promised": {
        **DAY_OR_NULL,
        "description": "The day it will be ready, promised on accepting it; null before.",
    },
}
SAID = {"reason": text("What was said on declining or withdrawing it.")}
QUOTES: dict[str, Shape] = {
    "CustomerShown": thing(
        "Who asked; a field that was not given is not there.",
        {},
        {name: text("As it was given.") for name in ("name", "email", "telephone", "note")},
    ),
    "Quote": thing(
        "A stored quote. Its figures are those of the day it was made: no later price list, "
        "catalogue or setting changes them.",
        {
            **HEAD,
            "tickets": listed(ref("QuoteTicket"), "Its tickets, once it was accepted."),
            **RESULT,
        },
        {
            "choices": listed(
                ref("RevisionRow"),
                "The revisions that the customer may choose from, where there are several.",
            ),
            **SAID,
            **FOR_THE_SHOP,
        },
    ),
    "QuoteRevision": thing(
        "One revision of a stored quote, as it was told.",
        {
            **{name: HEAD[name] for name in ("id", "number", "revision")},
            "created_at": {**INSTANT, "description": "When it was worked out (RFC 3339, UTC)."},
            **RESULT,
        },
        FOR_THE_SHOP,
    ),
    "QuoteRow": thing(
        "A quote as a list shows it: without its jobs.",
        {**HEAD, "currency": CURRENCY, "total": money("What the customer pays.")},
        SAID,
    ),
    "QuoteList": thing(
        "A page of a list, newest first.",
        {
            "items": listed(ref("QuoteRow"), "The page."),
            "next": {
                "type": ["string", "null"],
                "description": "The cursor of the next page; null on the last one.",
            },
            "until": UNTIL,
        },
    ),
    "Workings": thing(
        "Why every figure of a quote is what it is, as it was worked out on the day.",
        {
            "number": HEAD["number"],
            "revision": HEAD["revision"],
            "workings": listed(ref("Working"), "One for every figure."),
        },
    ),
}
HEALTH: dict[str, Shape] = {
    "Health": thing(
        "The state of the service.", {"status": one_of(("ok", "ready"), "It is well.")}
    ),
    "Readiness": thing(
        "The state of the service and of what it works with.",
        {
            "status": one_of(("ready",), "It can do its work."),
            "feed_lag_seconds": whole(
                "For how long a transaction that is still open has held back events of its shop "
                "from `/v1/events` and webhooks; 0 where none does."
            ),
        },
    ),
}
ANSWERS: dict[str, Shape] = {
    **FIGURES,
    **QUOTES,
    **LIFE,
    **TICKETS,
    **PROBLEM,
    **HEALTH,
}
