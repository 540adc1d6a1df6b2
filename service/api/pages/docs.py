"""`/openapi.json` and `/docs`: the contract as the service itself publishes it.

The page consists of assets from a package and three small files of our own; nothing is fetched from
elsewhere, and its Content-Security-Policy forbids it.
"""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from string import Template

import flask_swagger_ui  # type: ignore[import-untyped]
import orjson
from flask import Blueprint, Response, current_app, request, send_file, url_for

from service.api.http.negotiation import ASSET_FORMS, PAGE_FORM
from service.api.http.operation import OpenToAll
from service.domain.errors import NotFound

bp = Blueprint("documentation", __name__)
OWN = Path(str(files("service.api.pages").joinpath("docs_page")))
SHIPPED = Path(flask_swagger_ui.__file__).parent / "dist"
ASSETS = {
    "swagger-ui.css": SHIPPED,
    "swagger-ui-bundle.js": SHIPPED,
    "docs.css": OWN,
    "docs.js": OWN,
}
YEAR = 365 * 24 * 3600
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
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-cache",
}


@bp.get("/openapi.json")
@OpenToAll("the contract")
def document() -> Response:
    """Return the contract as an OpenAPI document."""
    body = _document()
    answer = Response(body, content_type="application/json")
    answer.headers["Cache-Control"] = "no-cache"
    answer.set_etag(sha256(body).hexdigest()[:32])
    answer.make_conditional(request)
    return answer


@bp.get("/docs")
@OpenToAll("the documentation", forms=(PAGE_FORM,))
def page() -> Response:
    """Return a page to read the contract and try it."""
    html = Template((OWN / "docs.html").read_text(encoding="utf-8")).substitute(
        document=url_for("documentation.document"),
        ui_css=_address("swagger-ui.css"),
        ui_js=_address("swagger-ui-bundle.js"),
        own_css=_address("docs.css"),
        own_js=_address("docs.js"),
    )
    return Response(html, content_type="text/html; charset=utf-8", headers=PAGE_HEADERS)


@bp.get("/docs/assets/<release>/<name>")
@OpenToAll("the files of the documentation", parameters=None, forms=ASSET_FORMS)
def asset(release: str, name: str) -> Response:
    """Return a file of the page.

    Its address changes with its content, so it may be cached for good.
    """
    if name not in ASSETS or release != _release():
        raise NotFound("there is no such file; reload the page")
    answer = send_file(ASSETS[name] / name, max_age=YEAR)
    answer.headers["Cache-Control"] = f"public, max-age={YEAR}, immutable"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    return answer


def _address(name: str) -> str:
    return url_for("documentation.asset", release=_release(), name=name)


@cache
def _document() -> bytes:
    from service.api.http.contract import contract  # noqa: PLC0415 — large, rarely needed

    return orjson.dumps(contract(current_app))


@cache
def _release() -> str:
    """Return a name for the content of all the files together."""
    digest = sha256()
    for name, folder in ASSETS.items():
        digest.update((folder / name).read_bytes())
    return digest.hexdigest()[:16]
