"""A quote as an HTML page, with its drawing."""

from __future__ import annotations

from service.domain.letterhead import Letterhead
from service.domain.measure.ruler import Ruler
from service.printing.parts.svg import svg
from service.printing.parts.templates import PICTURE, _code, templates
from service.printing.parts.views import quote_front
from service.printing.parts.words import Document
from service.printing.quotes.rows import NO_LETTERHEAD, letter_lines, quote_sheet


def quote_html(
    quote: Document, shop: str, shop_ruler: Ruler, letterhead: Letterhead = NO_LETTERHEAD
) -> str:
    """Return a customer's quote as a page to read or print, without costs."""
    sheet = quote_sheet(quote, shop, shop_ruler)
    return (
        templates()
        .get_template("quote.html")
        .render(
            quote=sheet,
            code=_code(sheet.number),
            letter=letter_lines(letterhead),
            terms=letterhead.terms,
        )
    )


def quote_drawing(job: Document, shop_ruler: Ruler) -> str:
    """Return one job of a quote from the front, as an SVG file."""
    return svg(quote_front(job, shop_ruler, *PICTURE))
