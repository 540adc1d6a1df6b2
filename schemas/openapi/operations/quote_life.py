"""The part of the OpenAPI document on a quote's life cycle: forms, steps, revisions, promise."""

from __future__ import annotations

from typing import Any

from schemas.openapi.examples import request_examples
from schemas.openapi.operations.records import UNCHANGED, answers, entry
from schemas.openapi.parts import in_path, in_query, parameters, refusals

Shape = dict[str, Any]
JSON, PAGE, PAPER, SVG = "application/json", "text/html", "application/pdf", "image/svg+xml"
STEP = (400, 401, 403, 404, 409, 412, 413, 415, 422, 428, 503)
PAID = (400, 401, 403, 404, 409, 413, 415, 422, 503)
SEEN = (400, 401, 403, 404, 503)
TEXT: Shape = {"schema": {"type": "string"}}
BYTES: Shape = {"schema": {"type": "string", "contentEncoding": "binary"}}


LIFE_PARAMETERS: dict[str, Shape] = {
    "revision": in_path("revision", "The revision's number, from 1."),
    "choice": in_query(
        "choice",
        "What it is called as one of several choices: the revision is then offered side by side "
        "with those that are on offer, until the first of them expires. Left out, it takes their "
        "place.",
        {"type": "string", "minLength": 1, "maxLength": 80},
    ),
    "drawn_job": in_query(
        "job", "Which of the quote's jobs.", {"type": "integer", "minimum": 1, "default": 1}
    ),
    "label_stock": in_query(
        "label_stock",
        "What the labels are printed on: a roll of labels of so many millimetres, each a page; or "
        "a sheet, A4 with 3 by 8 of 70 by 37 mm, US Letter with 3 by 10 of 2 5/8 by 1 in.",
        {"type": "string", "enum": ["62x29", "50x25", "a4", "letter"], "default": "62x29"},
    ),
    "labels_of": in_query(
        "of",
        "What is labelled: the offcuts that a committed plan keeps, or its pieces.",
        {"type": "string", "enum": ["offcuts", "pieces"], "default": "offcuts"},
    ),
    "paper": in_query(
        "paper",
        "The paper of a PDF. Default: US Letter for a shop that measures in inches, else A4.",
        {"type": "string", "enum": ["letter", "a4"]},
    ),
}


def shown(operation: str, doc: str, schema: str, *headers: str, status: int = 200) -> Shape:
    """Return an answer in JSON."""
    return answers(operation, status, doc, schema, *headers)


def in_every_form(answer: Shape) -> Shape:
    """Return the same answer, also as HTML and PDF by `Accept`."""
    for each in answer.values():
        each["content"].update({PAGE: TEXT, PAPER: BYTES})
    return answer


def step(
    operation: str, tag: str, summary: str, doc: str, sent: tuple[str, bool], answer: Shape
) -> Shape:
    """Return a state transition; `sent` is its body's schema, and whether it is required."""
    schema, required = sent
    media: Shape = {"schema": {"$ref": f"#/components/schemas/{schema}"}}
    if found := request_examples(operation):
        media["examples"] = found
    return {
        "post": entry(
            operation,
            tag,
            summary,
            doc,
            {**answer, **refusals(*STEP)},
            sent={"required": required, "content": {JSON: media}},
        )
    }


def _one() -> Shape:
    answer = in_every_form(shown("get_quote", "The quote.", "Quote", "ETag"))
    operation = entry(
        "get_quote",
        "Quotes",
        "One quote, by its id or its number",
        "The figures of the day it was made, never worked out again. By `Accept` as JSON, as the "
        "customer's quote on a page that prints, or on paper as PDF; those two hold no costs.",
        {**answer, **UNCHANGED, **refusals(400, 401, 403, 404, 406, 503)},
    )
    return {
        "parameters": parameters("quote_id"),
        "get": {**operation, "parameters": parameters("paper")},
    }


_STEPS = (
    (
        "issue",
        "Give a draft to the customer",
        "From `draft` to `issued`. Its last day stays what it was. What cannot be made is not "
        "offered: a job with an advisory of severity `stop` refuses it with the reasons (409, "
        "`ticket_refused`), unless the job overrides the stop.",
        "Nothing",
    ),
    (
        "accept",
        "Take it for the customer",
        "From `issued` to `accepted`, if its last day is not past. Every job gets a bench ticket "
        "and the quote a promised day, all at once or not at all. A job with an advisory of "
        "severity `stop` refuses it with the reasons (409, `ticket_refused`). Where several "
        "choices are offered the body says which revision is taken; it is the quote from then on.",
        "Accept",
    ),
    ("decline", "The customer does not want it", "From `issued` to `declined`.", "QuoteStep"),
    (
        "withdraw",
        "Take it back",
        "From `draft`, `issued` or `accepted` to `withdrawn`; tickets go with it. Once the bench "
        "has begun it is too late.",
        "QuoteStep",
    ),
    (
        "collect",
        "Hand over all that is left of it",
        "Every ticket that is not collected must be done; then each is, and the quote's `handover` "
        "is `collected`. Tickets may also be collected one by one.",
        "Collect",
    ),
)


def _steps() -> dict[str, Shape]:
    found: dict[str, Shape] = {}
    for name, summary, doc, schema in _STEPS:
        operation = f"{name}_quote"
        answer = shown(operation, "The quote as it is now.", "Quote", "ETag")
        made = step(operation, "Quotes", summary, doc, (schema, False), answer)
        found[f"/v1/quotes/{{quote_id}}/{name}"] = {"parameters": parameters("quote_id"), **made}
    return found


def _with_choice(*told: Any) -> Shape:
    made = step(*told)
    made["post"]["parameters"] = parameters("choice")
    return made


def _revisions() -> dict[str, Shape]:
    place = "/v1/quotes/{quote_id}/revisions"
    made = shown("revise_quote", "The quote as it is now.", "Quote", "Location", "ETag", status=201)
    listed = shown("list_quote_revisions", "All revisions.", "RevisionList")
    one = in_every_form(shown("get_quote_revision", "The revision.", "QuoteRevision"))
    changed = shown("get_quote_changes", "What changed.", "Changes")
    return {
        place: {
            "parameters": parameters("quote_id"),
            **_with_choice(
                "revise_quote",
                "Quotes",
                "Work it out anew, as the next revision",
                'A new document, or `{"reprice": true}` for the same one, at today\'s prices and '
                "settings. The workings before it are kept as they were. A declined or expired "
                "quote is issued again by it. One that is accepted or in work is changed as an "
                "order: a job that stays the same keeps its ticket, the ticket of any other is "
                "withdrawn, and `already_cut` says what is lost of it; new jobs get tickets. What "
                "is done as a whole or collected is not changed.",
                ("RevisionRequest", True),
                made,
            ),
            "get": entry(
                "list_quote_revisions",
                "Quotes",
                "Every revision of a quote",
                "The first one first.",
                {**listed, **refusals(*SEEN)},
            ),
        },
        f"{place}/{{revision}}": {
            "parameters": parameters("quote_id", "revision"),
            "get": entry(
                "get_quote_revision",
                "Quotes",
                "One revision whole",
                "As it was told on its day; by `Accept` as JSON, a page, or on paper.",
                {**one, **refusals(400, 401, 403, 404, 406, 503)},
            )
            | {"parameters": parameters("paper")},
        },
        f"{place}/{{revision}}/changes": {
            "parameters": parameters("quote_id", "revision"),
            "get": entry(
                "get_quote_changes",
                "Quotes",
                "What changed from the revision before, in words",
                "The first revision has none before it: 404.",
                {**changed, **refusals(*SEEN)},
            ),
        },
    }


def _payments() -> Shape:
    taken = shown("take_payment", "What was paid.", "PaymentList", "Location", status=201)
    made = step(
        "take_payment",
        "Quotes",
        "Record a payment, or money given back",
        "The till tells what it took; the service takes no money and keeps nothing of a card. A "
        "payment settles no more than is open, money given back is no more than was paid. A "
        "deposit may come before the acceptance. A `reference` that comes again on the same quote "
        "is the same payment, told again: nothing is recorded twice, by two tills either.",
        ("Payment", True),
        taken,
    )
    made["post"]["responses"] = {**taken, **refusals(*PAID)}
    listed = shown("list_payments", "The payments.", "PaymentList")
    return {
        "parameters": parameters("quote_id"),
        **made,
        "get": entry(
            "list_payments",
            "Quotes",
            "What was paid on a quote",
            "The first payment first, and what is still owed.",
            {**listed, **refusals(*SEEN)},
        ),
    }


def _more() -> dict[str, Shape]:
    drawing = {"200": {"description": "The drawing.", "content": {SVG: TEXT}}}
    promise = shown("get_quote_promise", "The day.", "Promise")
    return {
        "/v1/quotes/{quote_id}/promise": {
            "parameters": parameters("quote_id"),
            "get": entry(
                "get_quote_promise",
                "Quotes",
                "When it would be ready",
                "If it were accepted today; once it is accepted, the day that was promised.",
                {**promise, **refusals(400, 401, 403, 404, 409, 503)},
            ),
        },
        "/v1/quotes/{quote_id}/payments": _payments(),
        "/v1/quotes/{quote_id}/drawing.svg": {
            "parameters": parameters("quote_id"),
            "get": {
                **entry(
                    "get_quote_drawing",
                    "Quotes",
                    "A job from the front, to scale",
                    "With its dimensions in the shop's marks.",
                    {**drawing, **refusals(*SEEN)},
                ),
                "parameters": parameters("drawn_job"),
            },
        },
    }


def life_paths() -> dict[str, Shape]:
    """Return every path of a quote's life cycle."""
    return {"/v1/quotes/{quote_id}": _one(), **_steps(), **_revisions(), **_more()}
