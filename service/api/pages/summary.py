"""`/summary`: the shop's figures on one printable page; for the owner, by a key in a form.

The key is sent once and is never in an address. A cookie then replaces it for half an hour
(`service.app.keys.page_session`); no script can read it and no other site's page can send it. The
page has no script at all and loads nothing.
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from functools import cache
from http import HTTPStatus
from importlib.resources import files
from typing import Any

from flask import Blueprint, Response, request, url_for
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from service.api.http.context import admit, wiring
from service.api.http.negotiation import PAGE_FORM
from service.api.http.operation import OpenToAll
from service.api.http.paging import one_of
from service.api.http.problems import RequestRefused
from service.api.pages.summary_figures import SHOWN, summary
from service.app.keys.access import Principal
from service.app.keys.page_session import LASTS, stay, staying
from service.domain.errors import NotKnown
from service.persistence.unit_of_work import UnitOfWork

bp = Blueprint("summary", __name__)
COOKIE = "fq_summary"
FORM_TYPE = "application/x-www-form-urlencoded"
USUAL = "weeks"
REFUSED = "This key is not known or no longer in force, or it may not read reports."


@bp.get("/summary")
@OpenToAll("it shows a form that asks for a key", parameters=("show",), forms=(PAGE_FORM,))
def page() -> Response:
    """Return the figures, or the form that asks for a key."""
    shown = one_of("show", tuple(SHOWN)) or USUAL
    wired = wiring()
    with wired.units.reading() as uow:
        principal = _staying(uow)
        if principal is None:
            return _page("sign_in.html", refused="")
        admit(principal, request.environ)
        book = wired.shelf.book_within(uow, principal.shop_id)
        found = summary(uow, book, shown, wired.clock())
    words = {name: label for name, (_, _, label) in SHOWN.items()}
    return _page("summary.html", shown=shown, words=words, **found)


@bp.post("/summary")
@OpenToAll("it takes the key from that form", forms=(PAGE_FORM,))
def enter() -> Response:
    """Take a key sent by the form: start a session, or show the form with the reason why not."""
    _from_our_page()
    if request.mimetype != FORM_TYPE:
        raise RequestRefused(
            HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
            "not_json",
            f"the form sends {FORM_TYPE}",
            headers={"Accept": FORM_TYPE},
        )
    token, wired = request.form.get("key", "").strip(), wiring()
    try:
        principal = wired.keys.principal(token)
    except NotKnown:
        return _page("sign_in.html", HTTPStatus.FORBIDDEN, refused=REFUSED)
    admit(principal, request.environ)
    if not principal.may("reports"):
        return _page("sign_in.html", HTTPStatus.FORBIDDEN, refused=REFUSED)
    with wired.units.reading() as uow:
        word = stay(uow.keys.by_id(principal.key_id), wired.clock())
    made = _elsewhere()
    made.set_cookie(
        COOKIE,
        word,
        max_age=LASTS,
        path=url_for("summary.page"),
        secure=request.is_secure,
        httponly=True,
        samesite="Strict",
    )
    return made


@bp.post("/summary/leave")
@OpenToAll("it ends a session", forms=())
def leave() -> Response:
    """End the session in this browser."""
    _from_our_page()
    made = _elsewhere()
    made.delete_cookie(
        COOKIE,
        path=url_for("summary.page"),
        secure=request.is_secure,
        httponly=True,
        samesite="Strict",
    )
    return made


def _staying(uow: UnitOfWork) -> Principal | None:
    """Return the session's principal, if its key is in force and may still read reports."""
    try:
        principal = staying(uow, request.cookies.get(COOKIE, ""), wiring().clock())
    except NotKnown:
        return None
    return principal if principal.may("reports") else None


def _from_our_page() -> None:
    """Refuse what another site's page sent; browsers say so, and other clients do not send pages.

    Raises:
        RequestRefused: 403.
    """
    if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
        raise RequestRefused(
            HTTPStatus.FORBIDDEN, "origin_not_allowed", "this form is for our own page alone"
        )


def _elsewhere() -> Response:
    """Redirect to the page itself."""
    made = Response(status=HTTPStatus.SEE_OTHER)
    made.headers["Location"] = url_for("summary.page")
    made.autocorrect_location_header = False
    return made


def _page(name: str, status: int = HTTPStatus.OK, **values: Any) -> Response:
    html = _templates().get_template(name).render(style=Markup(_style()), **values)  # noqa: S704 — our own file  # nosec B704
    made = Response(html, status, content_type="text/html; charset=utf-8")
    made.headers.update(
        {
            "Content-Security-Policy": _policy(),
            "Referrer-Policy": "same-origin",
            "Cache-Control": "no-store",
            "Vary": "Cookie",
        }
    )
    return made


@cache
def _style() -> str:
    return (
        files("service.api.pages")
        .joinpath("summary_page", "summary.css")
        .read_text(encoding="utf-8")
    )


@cache
def _policy() -> str:
    """Return a policy that allows only this page's own style sheet, named by its hash."""
    digest = b64encode(hashlib.sha256(_style().encode()).digest()).decode()
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    )


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("service.api.pages", "summary_page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
