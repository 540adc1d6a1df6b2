"""A cut ticket as an HTML page."""

from __future__ import annotations

from service.printing.language.spoken import _, day
from service.printing.parts.templates import PICTURE, _code, templates
from service.printing.parts.views import mats, ticket_backs, ticket_front, ticket_section
from service.printing.parts.words import Document, clean
from service.printing.tickets.rows import (
    TicketHead,
    advisory_rows,
    facts,
    hardware_rows,
    piece_rows,
    step_rows,
    supply_rows,
    title,
    which,
    window_rows,
)


def ticket_html(ticket: Document, head: TicketHead) -> str:
    """Return a ticket as a page to read or print."""
    front, section = ticket_front(ticket, *PICTURE), ticket_section(ticket, *PICTURE)
    return (
        templates()
        .get_template("ticket.html")
        .render(
            title=title(ticket, head),
            which=which(head),
            head=head,
            made=day(head.made_on),
            code=_code(clean(head.ticket or head.number, 40)),
            facts=facts(ticket),
            drawings=[front, *([section] if section else []), *ticket_backs(ticket, *PICTURE)],
            pieces=piece_rows(ticket),
            windows=window_rows(ticket),
            mats=len(mats(ticket)),
            steps=step_rows(ticket),
            lists=[
                (_("Hardware"), hardware_rows(ticket)),
                (_("Supplies"), supply_rows(ticket)),
                (_("Mind"), advisory_rows(ticket)),
            ],
        )
    )
