"""The bench tickets' part of the OpenAPI document."""

from __future__ import annotations

from typing import Any

from schemas.openapi.operations.quote_life import in_every_form, shown, step
from schemas.openapi.operations.records import UNCHANGED, entry
from schemas.openapi.parts import MOMENT, in_path, in_query, parameters, refusals
from service.domain.tickets.progress import TICKET_LIFE

Shape = dict[str, Any]
PLACE = "/v1/cut-tickets/{ticket}"


TICKET_PARAMETERS: dict[str, Shape] = {
    "ticket": in_path("ticket", "The ticket's `id`, or its `number` as people write it."),
    "piece": in_path("piece", "The piece's number in the ticket's `progress`."),
    "ticket_status": in_query(
        "status",
        "Only tickets in this state.",
        {"type": "string", "enum": list(TICKET_LIFE.states)},
    ),
    "ticket_quote": in_query("quote", "Only tickets of the quote with this id or number."),
    "tickets_updated_since": in_query(
        "updated_since",
        "Only tickets at which the bench pressed something at or after this: an instant with its "
        "offset, or a day, which is its first moment in the shop.",
        MOMENT,
    ),
}
_PRESSES = (
    ("start", "start_ticket", "Begin a ticket", "Its quote is in work from then on.", "Nothing"),
    (
        "finish",
        "finish_ticket",
        "Finish a ticket",
        "Every piece that was not pressed by itself is done with it; a piece that is to be cut "
        "anew must be finished first (409). The last ticket finishes its quote.",
        "Nothing",
    ),
    (
        "pieces/{piece}/start",
        "start_piece",
        "Begin a piece",
        "Its ticket is begun with it, where it was not.",
        "Nothing",
    ),
    ("pieces/{piece}/finish", "finish_piece", "Finish a piece", "Begun before or not.", "Nothing"),
    (
        "pieces/{piece}/spoil",
        "spoil_piece",
        "Give a piece up as spoiled",
        "All of it, or `quantity` of it. Another piece is to be cut in its place, at the end of "
        "`progress`.",
        "Spoil",
    ),
    (
        "shelve",
        "shelve_ticket",
        "Put a finished ticket on the shelf",
        "It is ready to be collected, and `shelf` tells where it stands. It is moved to another "
        "place in the same way.",
        "Shelve",
    ),
    (
        "collect",
        "collect_ticket",
        "Hand a finished ticket to the customer",
        "Straight from the bench or from the shelf. The quote's `handover` is `partly_collected` "
        "until the last one is.",
        "Collect",
    ),
)


def _presses() -> dict[str, Shape]:
    found: dict[str, Shape] = {}
    for place, operation, summary, doc, schema in _PRESSES:
        answer = shown(operation, "The ticket as it is now.", "Ticket", "ETag")
        told = f"{doc} Of two who press the same thing the second one is told what the first did."
        sent = (schema, schema not in ("Nothing", "Collect"))
        named = parameters("ticket", "piece") if "{piece}" in place else parameters("ticket")
        found[f"{PLACE}/{place}"] = {
            "parameters": named,
            **step(operation, "Tickets", summary, told, sent, answer),
        }
    return found


def ticket_paths() -> dict[str, Shape]:
    """Return every path of the bench's tickets."""
    listed = entry(
        "list_tickets",
        "Tickets",
        "The shop's tickets, newest first",
        "Pages hold still while tickets arrive.",
        {**shown("list_tickets", "A page.", "TicketList", "Link"), **refusals(400, 401, 403, 503)},
    )
    one = entry(
        "get_ticket",
        "Tickets",
        "One ticket, by its id or its number",
        "By `Accept` as JSON, as a page that prints, or on paper as PDF. It has neither prices nor "
        "the customer in it.",
        {
            **in_every_form(shown("get_ticket", "The ticket.", "Ticket", "ETag")),
            **UNCHANGED,
            **refusals(400, 401, 403, 404, 406, 503),
        },
    )
    filters = ("limit", "cursor", "ticket_status", "ticket_quote", "tickets_updated_since")
    return {
        "/v1/cut-tickets": {"get": {**listed, "parameters": parameters(*filters)}},
        PLACE: {
            "parameters": parameters("ticket"),
            "get": {**one, "parameters": parameters("paper")},
        },
        **_presses(),
    }
