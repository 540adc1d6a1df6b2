"""Tickets and quotes as HTML that prints: one file, no script, nothing fetched from elsewhere.

Every text goes in escaped; the only markup let through is the drawings and codes made here.
"""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from service.domain.measure.ruler import Ruler
from service.printing.drawing.sheet import Drawing
from service.printing.parts import barcode
from service.printing.parts.svg import svg
from service.printing.parts.views import (
    mats,
    quote_front,
    ticket_backs,
    ticket_front,
    ticket_section,
)
from service.printing.parts.words import Document, clean
from service.printing.quotes.rows import quote_sheet
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

PICTURE = (300, 260)
"""Width and height of a drawing on the page, in points."""


@lru_cache(maxsize=1)
def templates() -> Environment:
    """The pages' templates; every text goes in escaped."""
    made = Environment(
        loader=PackageLoader("service.printing.parts"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    made.filters["svg"] = _drawn
    made.filters["clean"] = clean
    return made


def _drawn(drawing: Drawing) -> Markup:
    return Markup(svg(drawing, standalone=False))  # noqa: S704 — escaped there  # nosec B704


def _code(number: str) -> Markup:
    return Markup(barcode.svg(number))  # noqa: S704 — a path of squares  # nosec B704


def ticket_html(ticket: Document, head: TicketHead) -> str:
    """A ticket as a page to read or to print."""
    front, section = ticket_front(ticket, *PICTURE), ticket_section(ticket, *PICTURE)
    return (
        templates()
        .get_template("ticket.html")
        .render(
            title=title(ticket, head),
            which=which(head),
            head=head,
            code=_code(clean(head.number, 40)),
            facts=facts(ticket),
            drawings=[front, *([section] if section else []), *ticket_backs(ticket, *PICTURE)],
            pieces=piece_rows(ticket),
            windows=window_rows(ticket),
            mats=len(mats(ticket)),
            steps=step_rows(ticket),
            lists=[
                ("Hardware", hardware_rows(ticket)),
                ("Supplies", supply_rows(ticket)),
                ("Mind", advisory_rows(ticket)),
            ],
        )
    )


def quote_html(quote: Document, shop: str, shop_ruler: Ruler) -> str:
    """A customer's quote as a page to read or to print, without costs."""
    sheet = quote_sheet(quote, shop, shop_ruler)
    return templates().get_template("quote.html").render(quote=sheet, code=_code(sheet.number))


def quote_drawing(job: Document, shop_ruler: Ruler) -> str:
    """One job of a quote from the front, as an SVG file."""
    return svg(quote_front(job, shop_ruler, *PICTURE))
