"""The quote form and the operators' metrics in the OpenAPI document."""

from __future__ import annotations

from schemas.openapi.operations.estimates import PARTS_OF_PAGES, page_answer
from schemas.openapi.operations.records import entry
from schemas.openapi.parts import PROBLEM_TYPE, in_path, in_query, refusals
from schemas.openapi.shapes import Shape

FORM = "application/x-www-form-urlencoded"


def page_paths() -> dict[str, Shape]:
    """Return their paths."""
    return {
        "/": {
            "get": {
                "operationId": "get_quote_form",
                "tags": ["Operation"],
                "summary": "The quote form",
                "description": "A page that prices while one types, under a publishable key with "
                "the scope `price`. Without such a key it says what to do.",
                "parameters": [
                    in_query(
                        "key",
                        "A key to try the form with, in place of the one that the "
                        "service was given for it.",
                    )
                ],
                "responses": {**page_answer("The page.", "text/html"), **refusals(400)},
            }
        },
        "/form/{release}/{name}": {
            "parameters": [
                in_path("release", "The release of the files; another one is not found."),
                in_path("name", "The file."),
            ],
            "get": entry(
                "get_quote_form_asset",
                "Operation",
                "A file that the quote form is made of",
                "A script or a style sheet. Its address contains the release, so "
                "that browsers may keep it.",
                {**page_answer("The file.", *PARTS_OF_PAGES), **refusals(404)},
            ),
        },
        **_summary(),
        "/metrics": {
            "get": entry(
                "get_metrics",
                "Operation",
                "Figures for those who run the service",
                "Requests by route and status, their times, what is stored and "
                "what waits, in the text format of Prometheus. It tells of no shop and no "
                "customer, but is for the inside: a proxy should not let it out.",
                {
                    **page_answer("The figures.", "text/plain; version=0.0.4; charset=utf-8"),
                    **refusals(400),
                },
            )
        },
    }


def _summary() -> dict[str, Shape]:
    show: Shape = in_query(
        "show",
        "The last 28 days, 13 weeks or 12 months.",
        {"type": "string", "enum": ["days", "weeks", "months"], "default": "weeks"},
    )
    sent: Shape = {
        "type": "object",
        "description": "What the form sends.",
        "properties": {"key": {"type": "string", "description": "A key that may read reports."}},
        "required": ["key"],
    }
    there: Shape = {"303": {"description": "On to `/summary`, with or without the cookie."}}
    return {
        "/summary": {
            "get": {
                "operationId": "get_summary",
                "tags": ["Reports"],
                "summary": "How the shop does, on one page that prints",
                "description": "For the owner in a browser: figures, charts and short lists. "
                "Without a stay, which the form begins, it is the form that asks for a key.",
                "parameters": [show],
                "responses": {**page_answer("The page.", "text/html"), **refusals(400, 429, 503)},
            },
            "post": entry(
                "enter_summary",
                "Reports",
                "Begin a stay on that page",
                "The key is sent once by the page's own form. A signed cookie, "
                "which no script can read and no other site can send, stands for it for half an "
                "hour, or until the key is out of force.",
                {
                    **there,
                    **refusals(400, 413, 415, 429, 503),
                    "403": _not_entered(),
                },
                sent={"required": True, "content": {FORM: {"schema": sent}}},
            ),
        },
        "/summary/leave": {
            "post": entry(
                "leave_summary",
                "Reports",
                "End a stay on that page",
                "Removes the cookie.",
                {**there, **refusals(400, 403)},
            )
        },
    }


def _not_entered() -> Shape:
    """Return the answer to a refused login: the form and its error; to another page, a problem."""
    return {
        "description": "The key may not read reports: the form again. Or sent by another page.",
        "content": {
            "text/html": {"schema": {"type": "string"}},
            PROBLEM_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}},
        },
    }
