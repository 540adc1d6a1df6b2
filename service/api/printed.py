"""One thing in several forms, by `Accept` (RFC 9110, 12.5.1): JSON, a page that prints, paper.

Where a caller likes several forms alike, or says nothing, it gets JSON. A page carries no script
and loads nothing; its Content-Security-Policy lets nothing else be.
"""

from __future__ import annotations

from http import HTTPStatus

from flask import Response, request

from service.api.asking import only_parameters
from service.api.paging import one_of
from service.api.problems import RequestRefused
from service.app.records_tickets import TicketHead
from service.domain.measure.ruler import Ruler
from service.printing.ticket_rows import TicketHead as PrintedHead

JSON_FORM, PAGE_FORM, PDF_FORM = "application/json", "text/html", "application/pdf"
FORMS = (JSON_FORM, PAGE_FORM, PDF_FORM)
PAPERS = ("letter", "a4")
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'; sandbox allow-modals"
)
PRIVATE = {"Cache-Control": "private, no-cache", "X-Content-Type-Options": "nosniff"}


def form_wanted(forms: tuple[str, ...] = FORMS) -> str:
    """The form that the caller likes best; JSON where any will do.

    Raises:
        RequestRefused: 406, none of those there are.
    """
    accepted = request.accept_mimetypes
    if not accepted:
        return JSON_FORM
    best = max(forms, key=accepted.quality)
    if accepted.quality(best) <= 0:
        raise RequestRefused(
            HTTPStatus.NOT_ACCEPTABLE,
            "not_acceptable",
            f"this is to be had as {', '.join(forms)}",
            headers={"Vary": "Accept"},
        )
    return best


def paper_wanted(*others: str) -> str:
    """The paper that is asked for, or "" where none is; the address takes no parameter but these.

    Raises:
        RequestRefused: 400, a paper that is not kept, or another parameter.
    """
    only_parameters("paper", *others)
    return one_of("paper", PAPERS) or ""


def usual_paper(ruler: Ruler) -> str:
    """The paper of a shop that says none: US Letter where it measures in inches, else A4."""
    return "letter" if ruler.unit == "in" else "a4"


def page(html: str) -> Response:
    """A page that prints."""
    headers = {**PRIVATE, "Content-Security-Policy": POLICY}
    return varies(Response(html, content_type="text/html; charset=utf-8", headers=headers))


def pdf(body: bytes, name: str) -> Response:
    """A PDF, shown where it is opened and called `name` where it is kept."""
    headers = {**PRIVATE, "Content-Disposition": f'inline; filename="{name}.pdf"'}
    return varies(Response(body, content_type=PDF_FORM, headers=headers))


def svg(text: str) -> Response:
    """A drawing."""
    headers = {**PRIVATE, "Content-Security-Policy": POLICY}
    return Response(text, content_type="image/svg+xml; charset=utf-8", headers=headers)


def varies(response: Response) -> Response:
    """The same answer, marked as one of several forms."""
    response.vary.add("Accept")
    return response


def printed_head(head: TicketHead, shop: str) -> PrintedHead:
    """What stands over a printed ticket."""
    return PrintedHead(
        number=head.quote_number,
        ticket=head.number,
        shop=shop,
        reference=head.reference,
        job=head.job + 1,
        jobs=head.jobs,
        made_on=head.created_at.date().isoformat(),
    )
