"""Every operation of the service, as described in the OpenAPI document."""

from __future__ import annotations

from typing import Any

from schemas.openapi.operations.records import answers, body, entry
from schemas.openapi.parts import LIST_PARAMETERS, in_path, parameters, refusals

Shape = dict[str, Any]
JSON = "application/json"
PARTS_OF_PAGES = ("text/css", "text/javascript")
READS_A_BODY = (400, 401, 403, 409, 413, 415, 422, 503)


def _estimates() -> dict[str, Shape]:
    return {
        "/v1/estimates": {
            "post": entry(
                "create_estimate",
                "Estimates",
                "Work a document out; nothing is stored",
                "Sizes, cut list, material, bench time, price and advisories of "
                "every job. The same document sent to `/v1/quotes` is worked out the same way and "
                "stored.",
                {
                    **answers("create_estimate", 200, "Worked out.", "Estimate"),
                    **refusals(*READS_A_BODY),
                },
                sent=body("create_estimate", "QuoteRequest"),
            )
        },
        "/v1/estimates/sweep": {
            "post": entry(
                "create_sweep",
                "Estimates",
                "Try one job with many mouldings or glazings",
                "A total for each choice in one call, by the same rules as an "
                "estimate of it alone. Choices that will not do are listed with their reasons.",
                {
                    **answers("create_sweep", 200, "Worked out.", "Sweep"),
                    **refusals(*READS_A_BODY),
                },
                sent=body("create_sweep", "SweepRequest"),
            )
        },
    }


def _quotes() -> dict[str, Shape]:
    return {
        "/v1/quotes": {
            "post": entry(
                "create_quote",
                "Quotes",
                "Work a document out and store it",
                "A key with the scope `counter` issues the quote; a key with only "
                "`price` leaves a draft for the shop to look at.",
                {
                    **answers("create_quote", 201, "Stored.", "Quote", "Location", "ETag"),
                    **refusals(*READS_A_BODY),
                },
                sent=body("create_quote", "QuoteRequest"),
            ),
            "get": entry(
                "list_quotes",
                "Quotes",
                "The shop's quotes, newest first",
                "Pages hold still while quotes arrive: what is stored meanwhile "
                "stands before the first page and shifts no later one. Follow `Link` or send "
                "`next` as `cursor`, with the filters unchanged.",
                {
                    **answers("list_quotes", 200, "A page.", "QuoteList", "Link"),
                    **refusals(400, 401, 403, 503),
                },
                *LIST_PARAMETERS,
            ),
        },
        "/v1/quotes/{quote_id}/workings": {
            "parameters": parameters("quote_id"),
            "get": entry(
                "get_quote_workings",
                "Quotes",
                "Why every figure of a quote is what it is",
                "For every figure the formula, the numbers put in and the result.",
                {
                    **answers("get_quote_workings", 200, "The workings.", "Workings"),
                    **refusals(400, 401, 403, 404, 409, 503),
                },
            ),
        },
    }


def _plain(operation: str, summary: str, doc: str, told: Shape) -> Shape:
    return {"get": entry(operation, "Operation", summary, doc, {**told, **refusals()})}


def page_answer(doc: str, *media: str) -> Shape:
    """Return an answer that is text of one of these media types."""
    content = {kind: {"schema": {"type": "string"}} for kind in media}
    return {"200": {"description": doc, "content": content}}


def _operation() -> dict[str, Shape]:
    document: Shape = {"schema": {"type": "object"}}
    return {
        "/healthz": _plain(
            "get_health",
            "Whether the process answers",
            "Asks nothing of the database.",
            answers("get_health", 200, "It does.", "Health"),
        ),
        "/readyz": _plain(
            "get_readiness",
            "Whether the service can do its work",
            "It can if the database is reached and at the level of this release.",
            {**answers("get_readiness", 200, "It can.", "Readiness"), **refusals(503)},
        ),
        "/openapi.json": _plain(
            "get_openapi",
            "This document",
            "The contract of every address, in OpenAPI 3.1.",
            {"200": {"description": "OpenAPI 3.1.", "content": {JSON: document}}},
        ),
        "/docs": _plain(
            "get_docs",
            "A page to read and try this document",
            "Calls that are tried there are real ones, under the key that is entered.",
            page_answer("A page.", "text/html"),
        ),
        "/docs/assets/{release}/{name}": {
            "parameters": [
                in_path(name, doc)
                for name, doc in (
                    ("release", "The release of the files; another one is not found."),
                    ("name", "The file."),
                )
            ],
            **_plain(
                "get_docs_asset",
                "A file that the page of documentation is made of",
                "A script or a style sheet. Its address contains the release.",
                {**page_answer("The file.", *PARTS_OF_PAGES), **refusals(404)},
            ),
        },
    }


def paths() -> dict[str, Shape]:
    """Return every path with its operations."""
    return {**_estimates(), **_quotes(), **_operation()}
