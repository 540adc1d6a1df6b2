"""The quote form at `/`: a page that prices while the user types, from a few files of our own.

The page calls the same addresses as any other client, with a publishable key from the setting
FORM_KEY, or from `?key=` for trying. Everybody can read a page's key, so only a key whose single
scope is `price` is put into it.
"""

from __future__ import annotations

from dataclasses import fields
from functools import cache, lru_cache
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, request, send_file, url_for
from jinja2 import Environment, PackageLoader, StrictUndefined

from schemas.wire.figures import Json
from service.api.http.context import wiring
from service.api.http.negotiation import ASSET_FORMS, PAGE_FORM
from service.api.http.operation import OpenToAll
from service.api.pages.docs import YEAR
from service.app.customers import CONTACT
from service.app.keys.access import Principal
from service.domain.errors import NotFound, NotKnown
from service.domain.letterhead import Letterhead
from service.domain.measure.length import TICKS_PER_INCH
from service.domain.measure.rounding import decimal_text
from service.domain.shop import Method, Preset, Shop
from service.persistence.sql.session import StorageUnavailable

bp = Blueprint("quote_form", __name__)
FOLDER = Path(str(files("service.api.pages").joinpath("form_page")))
ASSETS = (
    "form.css",
    "form.js",
    "calls.js",
    "colours.js",
    "keep.js",
    "notes.js",
    "order.js",
    "picture.js",
    "review.js",
    "sheet.js",
)
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
PAGE_HEADERS = {
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


class Closed(Exception):
    """The form cannot be opened with this key; the message gives the operator the reason."""


@bp.get("/")
@OpenToAll(
    "the form gives out no more than its own key may see", parameters=("key",), forms=(PAGE_FORM,)
)
def page() -> Response:
    """Return the form, or a page that says what it needs."""
    token = request.args.get("key", "") or wiring().settings.form_key
    try:
        shown = _render(key=token, shop=_shop_words(_opened(token)), closed="", privacy=_privacy())
    except Closed as closed:
        shown = _render(key="", shop=None, closed=str(closed), privacy=())
    return Response(shown, content_type="text/html; charset=utf-8", headers=PAGE_HEADERS)


@bp.get("/form/<release>/<name>")
@OpenToAll("the files of the form", parameters=None, forms=ASSET_FORMS)
def asset(release: str, name: str) -> Response:
    """Return a file of the page.

    Its address changes with its content, so it may be cached for good.
    """
    if name not in ASSETS or release != _release():
        raise NotFound("there is no such file; reload the page")
    answer = send_file(FOLDER / name, max_age=YEAR)
    answer.headers["Cache-Control"] = f"public, max-age={YEAR}, immutable"
    return answer


def _opened(token: str) -> Principal:
    """Return the principal of the form's key.

    Raises:
        Closed: there is none, it is not in force, or it has more scopes than a page may give away.
    """
    if not token:
        raise Closed("The form prices under a key of its own, and none was given to it.")
    try:
        found = wiring().keys.recent_principal(token)
    except NotKnown:
        raise Closed("The key that was given to it is not known or no longer in force.") from None
    except StorageUnavailable:
        raise Closed("The shop’s records cannot be reached just now; try again soon.") from None
    if found.scopes != {"price"}:
        raise Closed(
            "The key that was given to it may do more than price. This page shows its key to "
            "everybody, so it takes one with the scope price and no other."
        )
    return found


def _shop_words(principal: Principal) -> Json:
    """Return what the page needs to know of the shop; none of it is secret."""
    try:
        shop: Shop = wiring().shelf.recent_book(principal.shop_id).shop
    except StorageUnavailable:
        raise Closed("The shop’s records cannot be reached just now; try again soon.") from None
    margin = decimal_text(shop.sizing.float_margin.ticks, TICKS_PER_INCH, 7)
    return {
        "name": shop.name,
        "letterhead": _letterhead(shop.letterhead),
        "unit": shop.ruler.unit,
        "contact": None if shop.quote_form.contact == "never" else CONTACT,
        "presets": [_preset(preset) for preset in shop.quote_form.presets],
        "float_margin_in": margin,
        "mounting": [_method(method) for method in shop.mounting],
        "finishing": [_method(method) for method in shop.finishing],
    }


def _privacy() -> tuple[str, ...]:
    """Return what happens to what a customer gives, as the settings of retention have it."""
    erased, deleted = wiring().settings.keep_customers_days, wiring().settings.keep_unsold_days
    kept = (
        f"It is erased once the quote has not changed for {erased} days."
        if erased
        else "It is kept until you ask the shop to erase it."
    )
    unsold = f" A quote that nobody takes up is deleted after {deleted} days." if deleted else ""
    return (
        "Who you are goes to the shop with the quote; this page sends it nowhere else. "
        f"{kept}{unsold}",
        "Your choices, but not who you are, stay in this browser until you begin anew.",
    )


def _letterhead(head: Letterhead) -> Json:
    return {
        "logo": head.logo,
        "lines": [
            each for each in (*head.address, head.telephone, head.email, head.website) if each
        ],
        "hours": list(head.hours),
        "telephone": head.telephone,
        "dialled": "".join(each for each in head.telephone if each in "+0123456789"),
        "email": head.email,
    }


def _method(method: Method) -> Json:
    return {"code": method.code, "description": method.description, "driver": method.driver}


def _preset(preset: Preset) -> Json:
    """Return what a preset gives for each field of the form."""
    given = {each.name: getattr(preset, each.name) for each in fields(preset)}
    given["method"] = given.pop("mounting")
    return {name: value for name, value in given.items() if value is not None}


def _render(**values: Any) -> str:
    def address(name: str) -> str:
        return url_for("quote_form.asset", release=_release(), name=name)

    return _templates().get_template("form.html").render(address=address, **values)


@lru_cache(maxsize=1)
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("service.api.pages", "form_page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )


@cache
def _release() -> str:
    """Return a name for the content of all the files together."""
    digest = sha256()
    for name in ASSETS:
        digest.update((FOLDER / name).read_bytes())
    return digest.hexdigest()[:16]
