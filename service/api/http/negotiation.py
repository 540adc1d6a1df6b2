"""One resource in several forms, by `Accept` (RFC 9110, 12.5.1): JSON, a printable page, paper.

One rule holds for every address: if `Accept` names none of the available forms, the answer is 406,
before anything is done. Refusals are problem documents whatever `Accept` says, and an answer
without a body is always acceptable. `charset` in `Accept` is ignored: it has no meaning for JSON
(RFC 8259, 11), and every text is UTF-8.

JSON is the default, also if several forms are equally acceptable. A page has no script and loads
nothing; its Content-Security-Policy forbids everything else.
"""

from __future__ import annotations

import re
from http import HTTPStatus
from zoneinfo import ZoneInfo

from flask import Response, request
from werkzeug.datastructures import MIMEAccept
from werkzeug.http import parse_accept_header

from schemas.tickets.records import TicketHead
from service.api.http.paging import one_of
from service.api.http.problems import RequestRefused
from service.domain.measure.ruler import Ruler
from service.printing.tickets.rows import TicketHead as PrintedHead

JSON_FORM, PAGE_FORM, PDF_FORM = "application/json", "text/html", "application/pdf"
FORMS = (JSON_FORM, PAGE_FORM, PDF_FORM)
CSV_FORM, SVG_FORM, LINES_FORM = "text/csv", "image/svg+xml", "application/x-ndjson"
REPORT_FORMS = (JSON_FORM, CSV_FORM)
ASSET_FORMS = ("text/css", "text/javascript")
PAPERS = ("letter", "a4")
LABEL_STOCKS = ("62x29", "50x25", "a4", "letter")
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'; sandbox allow-modals"
)
_CHARSET = re.compile(r"\s*;\s*charset\s*=\s*[^;,]*", re.IGNORECASE)
PRIVATE = {"Cache-Control": "private, no-cache", "X-Content-Type-Options": "nosniff"}


def form_wanted(forms: tuple[str, ...] = FORMS) -> str:
    """Return the caller's preferred form; JSON if any will do.

    Raises:
        RequestRefused: 406, no available form is acceptable.
    """
    header = _CHARSET.sub("", request.environ.get("HTTP_ACCEPT", ""))
    accepted = parse_accept_header(header, MIMEAccept)
    if not accepted:
        return forms[0]
    best = max(forms, key=accepted.quality)
    if accepted.quality(best) <= 0:
        raise RequestRefused(
            HTTPStatus.NOT_ACCEPTABLE,
            "not_acceptable",
            f"this is to be had as {', '.join(forms)}",
            headers={"Vary": "Accept"},
        )
    return best


def paper_wanted() -> str:
    """Return the requested paper, or "".

    Raises:
        RequestRefused: 400, an unknown paper.
    """
    return one_of("paper", PAPERS) or ""


def label_stock_wanted() -> str:
    """Return the requested label stock; a roll of 62 x 29 mm if none is named.

    Raises:
        RequestRefused: 400, an unknown stock.
    """
    return one_of("label_stock", LABEL_STOCKS) or LABEL_STOCKS[0]


def usual_paper(ruler: Ruler) -> str:
    """Return the default paper of a shop: US Letter if it measures in inches, else A4."""
    return "letter" if ruler.unit == "in" else "a4"


def page(html: str) -> Response:
    """Return a printable page."""
    headers = {**PRIVATE, "Content-Security-Policy": POLICY}
    return varies(Response(html, content_type="text/html; charset=utf-8", headers=headers))


def pdf(body: bytes, name: str) -> Response:
    """Return a PDF, shown inline and named `name` if saved."""
    headers = {**PRIVATE, "Content-Disposition": f'inline; filename="{name}.pdf"'}
    return varies(Response(body, content_type=PDF_FORM, headers=headers))


def svg(text: str) -> Response:
    """Return a drawing."""
    headers = {**PRIVATE, "Content-Security-Policy": POLICY}
    return Response(text, content_type="image/svg+xml; charset=utf-8", headers=headers)


def varies(response: Response) -> Response:
    """Return the same answer, marked as one of several forms."""
    response.vary.add("Accept")
    return response


def printed_head(
    head: TicketHead, shop: str, *, zone: str = "UTC", customer: str = ""
) -> PrintedHead:
    """Return the heading of a printed ticket; `zone` is the shop's, for the day it was made."""
    return PrintedHead(
        number=head.quote_number,
        ticket=head.number,
        shop=shop,
        reference=head.reference,
        job=head.job + 1,
        jobs=head.jobs,
        made_on=head.created_at.astimezone(ZoneInfo(zone)).date().isoformat(),
        promised="" if head.promised is None else head.promised.isoformat(),
        customer=customer,
        place=head.shelf,
    )
